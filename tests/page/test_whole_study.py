"""A whole study on the simulated printer, every turn answered on the page."""

import asyncio
from datetime import UTC, datetime
from pathlib import Path

import pytest
from chromium import Chromium, Phone
from hostctl_simulators.people.channel import SimulatedPeople
from hostctl_simulators.people.people import People, Question, Said
from hostctl_simulators.registry import find_world, forget_printers
from page_bench import ROOT, Bench, served

from hostctl.config.load import load_machine
from hostctl.config.study import Cycle, Method, Study
from hostctl.link.link import Link
from hostctl.link.port import PortSettings
from hostctl.machine.machine import Machine
from hostctl.news import Prompt, PromptOpened, RunFinished
from hostctl.protocol.noise import NoiseLimit
from hostctl.run.desk import Desk
from hostctl.run.order import RunOrder
from hostctl.run.runner import carry_out
from hostctl.store.reading import read_record
from hostctl.store.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]

FILE = load_machine(ROOT / "configs/machines/sim-220.yaml").model_copy(update={"dry_cycles": 0})
STUDY = Study(
    study="small",
    title="A small study",
    kind="comparison",
    methods=[Method(name="paper-slip", instruction="Slide the paper.")],
    operators=["volunteer-a"],
    points=["front-left", "back-right"],
    trials=2,
    cycle=Cycle(settle_s=0.0, countdown_s=0),
)


async def run_study(database: Path, desk: Desk) -> RunFinished:
    link = Link(FILE.port, PortSettings(), noise=NoiseLimit())
    order = RunOrder(study=STUDY, machine=FILE, study_text="", machine_text="", seed=7)
    async with Store.opened(database) as store, link.running():
        return await carry_out(
            order,
            machine=Machine(FILE, link),
            store=store,
            desk=desk,
            now=lambda: datetime.now(UTC),
        )


async def answer_on_the_page(bench: Bench, phone: Phone) -> None:
    """Do with simulated hands what the page says, then press and type what a person would."""
    people = People(find_world(FILE.port))
    async with bench.station.desk.listening() as news:
        async for item in news:
            if isinstance(item, RunFinished):
                return
            if isinstance(item, PromptOpened):
                await answer(phone, item.prompt, people.answer(Question.from_prompt(item.prompt)))


async def answer(phone: Phone, prompt: Prompt, said: Said) -> None:
    await phone.until(
        f"document.body.dataset.prompt === '{prompt.prompt_id}'"
        " && document.body.dataset.settled === 'true'"
    )
    assert prompt.text in await phone.text_of("#text")
    if said.reading_mm is not None:
        await phone.type(f"{said.reading_mm:.2f}")
    await phone.press("#done")


def values_in(database: Path) -> list[float]:
    return [one.kept.reading.value_mm for one in read_record(database, 1).readings]


async def values_answered_in_process(database: Path) -> list[float]:
    forget_printers()
    desk = Desk()
    people = SimulatedPeople({"url": FILE.port})
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(people.serve(desk))
        await asyncio.sleep(0)
        await run_study(database, desk)
    return values_in(database)


async def test_a_study_answered_on_the_page_reads_as_the_same_study_answered_in_process(
    chromium: Chromium, tmp_path: Path
):
    expected = await values_answered_in_process(tmp_path / "in_process.sqlite")
    forget_printers()
    database = tmp_path / "on_the_page.sqlite"
    async with served() as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url)
        await phone.until("document.body.dataset.line === 'live'")
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(answer_on_the_page(bench, phone))
            await asyncio.sleep(0)
            finished = await run_study(database, bench.station.desk)
        await phone.shows("Run 1 is complete")
        assert phone.complaints() == []
    assert finished.complete
    assert values_in(database) == expected
    assert len(expected) == 6  # two blocks of a zero and two trials
    channels = {one.kept.channel for one in read_record(database, 1).readings}
    assert channels == {"phone page"}
