"""The run's hand in the store: bounded under a flood, patient while the disk is full."""

import asyncio
from datetime import UTC, datetime

from jumping_loop import in_jumping_time
from paper_store import PaperStore

from hostctl.news import AnswerRefused
from hostctl.run.desk import Desk
from hostctl.run.record.journal import MOST_IN_MIND, Journal

NOW = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)


def journal(store: PaperStore) -> Journal:
    return Journal(store, Desk(), lambda: NOW, 1)


def test_a_flood_of_refused_answers_is_counted_not_listed():
    store = PaperStore()
    kept = journal(store)
    for number in range(10_000):
        kept.note_refusal(AnswerRefused(prompt_id=str(number), channel="mqtt", reason="stale"))
    in_jumping_time(kept.note("started", ""))
    assert len(store.events) == MOST_IN_MIND // 2 + 2
    assert store.kinds().count("started") == 1
    assert "9800 more events" in store.events[-1].text


def test_what_could_not_be_written_is_written_later_in_order():
    store = PaperStore()
    kept = journal(store)
    store.is_full = lambda: True
    in_jumping_time(kept.note("hold", "the disk is full"))
    assert store.events == []
    store.is_full = lambda: False
    in_jumping_time(kept.note("hold lifted", "on terminal"))
    assert store.kinds() == ["hold", "hold lifted"]


def test_a_disk_that_stays_full_does_not_fill_the_memory():
    store = PaperStore()
    kept = journal(store)
    store.is_full = lambda: True
    for _ in range(2 * MOST_IN_MIND):
        in_jumping_time(kept.note("hold", "the disk is full", wire="N1 M105*2\n" * 10_000))
    store.is_full = lambda: False
    in_jumping_time(kept.note("hold lifted", "on terminal"))
    assert len(store.events) == MOST_IN_MIND + 1
    assert sum(len(event.data) for event in store.events) < 400_000
    assert f"{MOST_IN_MIND + 1} more events" in store.events[-1].text


def test_two_who_note_at_once_are_each_written_once():
    store = PaperStore()
    kept = journal(store)

    async def both() -> None:
        await asyncio.gather(kept.note("hold", "a"), kept.note("hold lifted", "b"))

    in_jumping_time(both())
    assert store.kinds() == ["hold", "hold lifted"]
