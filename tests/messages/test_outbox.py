"""The outbox: in order, bounded, readings last to go, gone once delivered."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from at_the_station import MACHINE, a_reading, a_run

from hostctl.store.outbox import NewMessage, Outbox
from hostctl.store.store import Store


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[Store]:
    async with Store.opened(tmp_path / "hostctl.sqlite") as opened:
        yield opened


@pytest.fixture
async def outbox(store: Store) -> Outbox:
    return await store.outbox(MACHINE, most_waiting=100)


def message(number: int, reading_id: int | None = None) -> NewMessage:
    return NewMessage(
        message_id=f"id-{number}", topic="t", payload=str(number), reading_id=reading_id
    )


async def waiting(outbox: Outbox) -> list[str]:
    return [one.payload for one in await outbox.after(0, at_most=1000)]


async def test_messages_wait_in_order_until_delivered(outbox):
    for number in range(5):
        assert await outbox.add(message(number)) == 0
    first = await outbox.after(0, at_most=3)
    assert [one.payload for one in first] == ["0", "1", "2"]
    await outbox.delivered(first[-1].seq)
    assert (await waiting(outbox), outbox.waiting) == (["3", "4"], 2)


async def test_they_wait_over_a_restart(store, outbox, tmp_path):
    await outbox.add(message(1))
    await store.close()
    async with Store.opened(tmp_path / "hostctl.sqlite") as again:
        found = await again.outbox(MACHINE, most_waiting=100)
        assert (await waiting(found), found.waiting) == (["1"], 1)


async def test_the_same_id_waits_once(outbox):
    await outbox.add(message(1))
    await outbox.add(message(1))
    assert (await waiting(outbox), outbox.waiting) == (["1"], 1)


@pytest.mark.parametrize("turns", range(4))
async def test_what_is_cancelled_in_the_midst_is_counted_all_the_same(outbox, turns):
    adding = asyncio.ensure_future(outbox.add(message(1)))
    for _ in range(turns):
        await asyncio.sleep(0)
    adding.cancel()
    await asyncio.wait({adding})
    await outbox.add(message(2))
    assert outbox.waiting == len(await waiting(outbox))
    delivering = asyncio.ensure_future(outbox.delivered(100))
    await asyncio.sleep(0)
    delivering.cancel()
    await asyncio.wait({delivering})
    await outbox.add(message(3))
    assert outbox.waiting == len(await waiting(outbox)) == 1


async def test_too_many_drop_the_oldest_that_is_no_reading(store, outbox):
    await store.add_run(a_run())
    reading = await store.add_reading(a_reading(0.01))
    await outbox.add(message(0, reading.reading_id))
    for number in range(1, 103):
        await outbox.add(message(number))
    assert outbox.waiting == 100
    assert (await waiting(outbox))[:2] == ["0", "4"]


async def test_each_machine_has_its_own(store, outbox):
    other = await store.outbox("workshop-tri", most_waiting=100)
    await outbox.add(message(1))
    await other.add(message(1))
    await other.delivered((await other.after(0, at_most=1))[0].seq)
    assert (outbox.waiting, other.waiting) == (1, 0)
    assert await waiting(outbox) == ["1"]


async def test_what_a_machine_read_before_it_had_an_outbox_is_not_told(store):
    await store.add_run(a_run())
    await store.add_reading(a_reading(0.01))
    outbox = await store.outbox(MACHINE, most_waiting=100)
    assert await outbox.untold() == []


async def test_the_very_first_reading_is_untold_when_the_program_died_right_after_it(store, outbox):
    await store.add_run(a_run())
    await store.add_reading(a_reading(0.01))
    assert [stored.kept.reading.value_mm for stored in await outbox.untold()] == [0.01]


async def test_readings_after_the_last_told_one_are_untold(store, outbox):
    await store.add_run(a_run())
    told = await store.add_reading(a_reading(0.01, trial=1))
    await store.add_reading(a_reading(0.02, trial=2))
    await outbox.add(message(0, told.reading_id))
    await outbox.delivered((await outbox.after(0, at_most=1))[0].seq)
    assert [stored.kept.reading.value_mm for stored in await outbox.untold()] == [0.02]
