"""A run kept in the real database, stopped, and gone on with from what the database says."""

import asyncio

from bench_files import machine_file
from small_printer import SmallPrinter
from workshop import EPOCH, obliging, said, study_file

from hostctl.machine.machine import Machine
from hostctl.news import Prompt, PromptOpened, Word
from hostctl.run.desk import Desk
from hostctl.run.order import RunOrder
from hostctl.run.runner import carry_out
from hostctl.store.rows import RunRecord
from hostctl.store.store import Store

STUDY = study_file(points=["front-left", "back-left"])


async def carried_out(store: Store, person, resume: RunRecord | None):
    desk, listening = Desk(), asyncio.Event()

    async def answer() -> None:
        async with desk.listening() as news:
            listening.set()
            async for item in news:
                if isinstance(item, PromptOpened):
                    desk.answer(person(item.prompt))

    order = RunOrder(
        study=STUDY,
        machine=machine_file(),
        study_text="the study",
        machine_text="the machine",
        seed=2**40,
        resume=resume,
    )
    async with asyncio.TaskGroup() as tasks:
        answering = tasks.create_task(answer())
        await listening.wait()
        finished = await carry_out(
            order,
            machine=Machine(machine_file(), SmallPrinter()),
            store=store,
            desk=desk,
            now=lambda: EPOCH,
            sleep=lambda seconds: asyncio.sleep(0),
        )
        answering.cancel()
    return finished


async def test_a_stopped_run_goes_on_from_the_database_and_holds_every_trial_once(tmp_path):
    asked: list[Prompt] = []

    def ends_in_the_second_block(prompt: Prompt):
        asked.append(prompt)
        return said(prompt, Word.END) if len(asked) == 20 else obliging()(prompt)

    async with Store.opened(tmp_path / "runs.db") as store:
        first = await carried_out(store, ends_in_the_second_block, None)
        stopped = await store.record(first.run)
        second = await carried_out(store, obliging(), stopped)
        record = await store.record(first.run)
    assert (first.complete, second.complete) == (False, True)
    assert second.run == first.run
    assert record.summary.complete
    assert record.summary.new.seed == 2**40
    counting = [one for one in record.readings if one.void is None and not one.kept.is_zero]
    places = [(one.kept.place.block, one.kept.place.trial) for one in counting]
    assert sorted(places) == [(block, trial) for block in (1, 2) for trial in (1, 2, 3)]
    assert {one.void for one in record.readings if one.void} == {"zero lost"}
    assert all(one.relative_mm == one.kept.reading.value_mm for one in counting)
