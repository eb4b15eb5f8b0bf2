"""What is put into the store comes back, and nothing in it is ever changed."""

import asyncio
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from stored_rows import A_MARK, A_READING, A_RUN, AN_EVENT, NOON, reading_at

from hostctl.errors import StoreError
from hostctl.store.store import Store


async def test_a_reading_comes_back_with_all_its_context(store: Store) -> None:
    stored = await store.add_reading(A_READING)
    assert stored.kept == A_READING
    assert stored.stored_at == NOON
    assert (await store.record(1)).readings == [stored]


async def test_a_run_comes_back_with_its_whole_texts_and_seed(store: Store) -> None:
    run = await store.add_run(replace(A_RUN, seed=2**90, study_text="a: 1\r\n# ünïcode\x00\n"))
    record = await store.record(run)
    assert record.summary.new == replace(A_RUN, seed=2**90, study_text="a: 1\r\n# ünïcode\x00\n")


async def test_marks_and_events_come_back(store: Store) -> None:
    await store.add_mark(A_MARK)
    await store.add_event(AN_EVENT)
    record = await store.record(1)
    assert (record.marks, record.events) == ([A_MARK], [AN_EVENT])


async def test_an_event_may_belong_to_no_run(store: Store) -> None:
    await store.add_event(replace(AN_EVENT, run=None))
    assert (await store.record(1)).events == []


async def test_a_reading_nobody_was_asked_for_has_no_prompt_times(store: Store) -> None:
    probed = replace(A_READING, prompted_at=None, answered_at=None)
    await store.add_reading(probed)
    assert (await store.record(1)).readings[0].kept == probed


async def test_times_are_kept_in_utc_to_the_millisecond(store: Store, database: Path) -> None:
    there = timezone(timedelta(hours=5, minutes=45))
    at = datetime(2031, 1, 1, 3, 4, 5, 678_999, tzinfo=there)
    await store.add_reading(replace(A_READING, answered_at=at))
    with closing(sqlite3.connect(database)) as connection:
        rows = connection.execute("SELECT answered_at FROM readings").fetchall()
    assert rows == [("2030-12-31T21:19:05.678Z",)]


async def test_a_time_without_a_zone_is_refused(store: Store) -> None:
    with pytest.raises(ValueError, match="no time zone"):
        await store.add_event(replace(AN_EVENT, at=NOON.replace(tzinfo=None)))


@pytest.mark.parametrize("table", ["runs", "readings", "marks", "events", "schema_history"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET rowid = 9", "DELETE FROM {}"])
async def test_nothing_is_ever_changed_or_removed(
    store: Store, database: Path, table: str, deed: str
) -> None:
    await store.add_reading(A_READING)
    await store.add_mark(A_MARK)
    await store.add_event(AN_EVENT)
    with (
        closing(sqlite3.connect(database)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="never changed or removed"),
    ):
        connection.execute(deed.format(table))


@pytest.mark.parametrize(
    ("again", "difference"),
    [
        (A_READING, "none at all"),
        (replace(A_READING, channel="button"), "came by another channel"),
        (reading_at(value_mm=0.03), "another value"),
    ],
)
async def test_no_reading_is_recorded_twice(store: Store, again: object, difference: str) -> None:
    await store.add_reading(A_READING)
    with pytest.raises(StoreError, match="stored already"):
        await store.add_reading(again)  # type: ignore[arg-type]  # a table of readings
    assert len((await store.record(1)).readings) == 1


async def test_a_redo_is_another_attempt(store: Store) -> None:
    await store.add_reading(A_READING)
    await store.add_reading(reading_at(attempt=2))
    assert [r.kept.place.attempt for r in (await store.record(1)).readings] == [1, 2]


@pytest.mark.parametrize("value_mm", [float("nan"), float("inf"), -float("inf")])
async def test_what_is_no_number_is_refused(store: Store, value_mm: float) -> None:
    with pytest.raises(StoreError, match="the row is refused"):
        await store.add_reading(reading_at(value_mm=value_mm))


async def test_a_count_too_large_to_keep_is_refused(store: Store) -> None:
    with pytest.raises(StoreError, match="can't hold this value"):
        await store.add_reading(reading_at(trial=2**64))


async def test_a_reading_of_no_run_is_refused(store: Store) -> None:
    with pytest.raises(StoreError, match="no such run"):
        await store.add_reading(reading_at(run=2))


async def test_a_refused_row_takes_none_of_its_neighbours_with_it(store: Store) -> None:
    outcomes = await asyncio.gather(
        store.add_reading(reading_at(trial=1)),
        store.add_reading(reading_at(trial=1)),
        store.add_reading(reading_at(trial=2)),
        return_exceptions=True,
    )
    assert [isinstance(outcome, StoreError) for outcome in outcomes] == [False, True, False]
    assert [r.kept.place.trial for r in (await store.record(1)).readings] == [1, 2]


async def test_many_at_once_are_stored_in_the_order_given(store: Store) -> None:
    stored = await asyncio.gather(*(store.add_reading(reading_at(trial=n)) for n in range(300)))
    assert [one.kept.place.trial for one in sorted(stored, key=lambda one: one.reading_id)] == [
        *range(300)
    ]


async def test_a_cancelled_caller_loses_the_answer_but_never_the_row(store: Store) -> None:
    caller = asyncio.ensure_future(store.add_reading(A_READING))
    await asyncio.sleep(0)
    caller.cancel()
    with pytest.raises(asyncio.CancelledError):
        await caller
    await store.add_event(AN_EVENT)
    assert len((await store.record(1)).readings) == 1


async def test_closing_writes_what_was_given_before(database: Path) -> None:
    store = await Store.open(database)
    await store.add_run(A_RUN)
    caller = asyncio.ensure_future(store.add_reading(A_READING))
    await asyncio.sleep(0)
    await store.close()
    assert (await caller).reading_id == 1


async def test_a_closed_store_takes_nothing_more(database: Path) -> None:
    async with Store.opened(database) as store:
        await store.add_run(A_RUN)
    with pytest.raises(StoreError, match="recording has stopped"):
        await store.add_event(AN_EVENT)
    await store.close()


async def test_the_event_loop_goes_on_while_another_program_holds_the_database(
    store: Store, database: Path
) -> None:
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        caller = asyncio.ensure_future(store.add_event(AN_EVENT))
        await asyncio.sleep(0)  # comes back at once, though the write can't
        assert not caller.done()
        with pytest.raises(StoreError, match="another program is writing"):
            await caller
        other.execute("ROLLBACK")
    await store.add_event(AN_EVENT)


async def test_the_folders_above_a_new_database_are_made(tmp_path: Path) -> None:
    async with Store.opened(tmp_path / "none" / "of" / "them" / "hostctl.sqlite") as store:
        assert await store.add_run(A_RUN) == 1
