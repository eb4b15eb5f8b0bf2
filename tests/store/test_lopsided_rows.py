"""Rows in which no two figures are alike, so that one in another's place shows; and what fails."""

import csv
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from stored_rows import A_MARK, A_READING, A_RUN, AN_EVENT, NOON

from hostctl.errors import StoreError
from hostctl.records import Position, Temperatures
from hostctl.store.export import export_csv, export_json
from hostctl.store.file.connection import _settle, connect_to_read, connect_to_write
from hostctl.store.reading import list_runs, read_record, reading_from_database
from hostctl.store.store import Store

LOPSIDED_READING = replace(
    A_READING,
    place=replace(
        A_READING.place, run=2, block=3, round=4, trial=5, attempt=6, trials_done=7, trials_total=8
    ),
    reading=replace(
        A_READING.reading,
        value_mm=0.12,
        resolution_mm=0.01,
        taken_at=NOON + timedelta(seconds=1),
        at=Position(x_mm=31.0, y_mm=-32.5, z_mm=0.2),
        temperatures=Temperatures(nozzle_c=23.5, bed_c=41.25),
    ),
    prompted_at=NOON + timedelta(seconds=2),
    answered_at=NOON + timedelta(seconds=3),
    channel="button",
)


async def test_each_figure_of_a_reading_comes_back_in_its_own_place(
    store: Store, database: Path
) -> None:
    await store.add_run(replace(A_RUN, title="Another", kind="rig-check", machine="tri"))
    stored = await store.add_reading(LOPSIDED_READING)
    assert read_record(database, 2).readings == [stored]
    assert stored.kept == LOPSIDED_READING
    assert read_record(database, 1).readings == []
    assert [run.new.title for run in list_runs(database)] == [A_RUN.title, "Another"]


async def test_each_figure_of_a_reading_stands_in_its_own_column(
    store: Store, database: Path
) -> None:
    """A swap on the way in and the same swap on the way out would undo each other."""
    await store.add_run(A_RUN)
    await store.add_reading(LOPSIDED_READING)
    names = "run, block, round, trial, attempt, trials_done, trials_total, x_mm, y_mm, z_mm"
    more = "value_mm, resolution_mm, nozzle_c, bed_c, substr(taken_at, 18, 2)"
    times = "substr(prompted_at, 18, 2), substr(answered_at, 18, 2), substr(stored_at, 18, 2)"
    with closing(sqlite3.connect(database)) as connection:
        row = connection.execute(f"SELECT {names}, {more}, {times} FROM readings").fetchone()
    assert row[:7] == (2, 3, 4, 5, 6, 7, 8)
    assert row[7:14] == (31.0, -32.5, 0.2, 0.12, 0.01, 23.5, 41.25)
    assert row[14:] == ("01", "02", "03", "00")


@pytest.mark.parametrize("mark", ["void", "skipped"])
@pytest.mark.parametrize(("trial", "attempt"), [(5, 6), (None, None), (5, None)])
async def test_each_figure_of_a_mark_comes_back_in_its_own_place(
    store: Store, database: Path, mark: str, trial: int | None, attempt: int | None
) -> None:
    await store.add_run(A_RUN)
    lopsided = replace(
        A_MARK, run=2, block=3, round=4, trial=trial, attempt=attempt, mark=mark, reason="why"
    )
    await store.add_mark(lopsided)
    assert read_record(database, 2).marks == [lopsided]
    with closing(sqlite3.connect(database)) as connection:
        row = connection.execute("SELECT run, block, round, trial, attempt FROM marks").fetchone()
    assert row == (2, 3, 4, trial, attempt)


async def test_each_part_of_an_event_comes_back_in_its_own_place(
    store: Store, database: Path
) -> None:
    await store.add_run(A_RUN)
    event = replace(AN_EVENT, run=2, kind="ended", text="why", data='{"complete": true}')
    await store.add_event(event)
    assert read_record(database, 2).events == [event]
    summaries = {run.run: run for run in list_runs(database)}
    assert (summaries[2].complete, summaries[2].end_reason, summaries[2].ended_at) == (
        True,
        "why",
        event.at,
    )
    assert (summaries[1].complete, summaries[1].ended_at) == (False, None)


async def test_a_run_that_ended_early_is_not_complete(store: Store, database: Path) -> None:
    await store.add_event(replace(AN_EVENT, kind="ended", data='{"complete": false}'))
    (summary,) = list_runs(database)
    assert summary.ended_at is not None
    assert not summary.complete


async def test_readings_and_those_made_void_are_counted_run_by_run(
    store: Store, database: Path
) -> None:
    await store.add_run(A_RUN)
    for trial in (5, 6, 7):
        place = replace(LOPSIDED_READING.place, trial=trial)
        await store.add_reading(replace(LOPSIDED_READING, place=place))
    await store.add_mark(replace(A_MARK, run=2, block=3, round=4, trial=6, attempt=6))
    assert [(run.readings, run.void) for run in list_runs(database)] == [(0, 0), (3, 1)]


def test_what_fails_while_it_is_read_is_said_and_never_passed_over(
    database: Path, store: Store
) -> None:
    """A reader that swallowed it would show a run with nothing in it."""
    with pytest.raises(StoreError) as failed, reading_from_database(database) as connection:
        connection.execute("SELECT * FROM nothing_of_that_name")
    assert failed.value.where == str(database)


def damage_behind(file: Path, kept_bytes: int) -> None:
    whole = file.read_bytes()
    file.write_bytes(whole[:kept_bytes] + b"\xa5" * (len(whole) - kept_bytes))


async def test_pages_damaged_behind_the_first_are_said_to_be_damaged(
    store: Store, database: Path
) -> None:
    for trial in range(200):
        place = replace(A_READING.place, trial=trial)
        await store.add_reading(replace(A_READING, place=place))
    await store.close()
    damage_behind(database, 8192)
    with pytest.raises(StoreError, match="damaged"):
        read_record(database, 1)


async def test_all_that_is_read_is_of_one_instant(store: Store, database: Path) -> None:
    """What is stored meanwhile belongs to the next look."""
    with reading_from_database(database) as connection:
        before = connection.execute("SELECT count(*) FROM readings").fetchone()
        await store.add_reading(A_READING)
        assert connection.execute("SELECT count(*) FROM readings").fetchone() == before == (0,)


def test_a_reader_can_not_write(database: Path, store: Store) -> None:
    with (
        closing(connect_to_read(database)) as connection,
        pytest.raises(sqlite3.OperationalError, match="readonly"),
    ):
        connection.execute("INSERT INTO events VALUES (9, NULL, '', '', '', '{}')")


def test_whoever_writes_waits_for_the_disk_and_keeps_rows_of_no_run_out(database: Path) -> None:
    with closing(connect_to_write(database, busy_s=0.01)) as connection:
        settings = {
            name: connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("synchronous", "foreign_keys", "recursive_triggers", "journal_mode")
        }
    assert settings == {
        "synchronous": 2,  # FULL (SQLite's documentation of the pragma)
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "journal_mode": "wal",
    }


async def test_what_leaves_as_json_has_each_figure_under_its_own_name(
    store: Store, database: Path
) -> None:
    await store.add_run(A_RUN)
    place = LOPSIDED_READING.place
    zero = replace(
        LOPSIDED_READING,
        place=replace(place, trial=0),
        is_zero=True,
        reading=replace(LOPSIDED_READING.reading, value_mm=0.1),
    )
    await store.add_reading(zero)
    await store.add_reading(LOPSIDED_READING)
    out, table = StringIO(), StringIO(newline="")
    export_json(database, 2, out)
    export_csv(database, 2, table)
    reading = json.loads(out.getvalue())["readings"][1]
    (_, row) = csv.DictReader(StringIO(table.getvalue(), newline=""), strict=True)
    wanted = {"run": 2, "block": 3, "round": 4, "trial": 5, "attempt": 6, "is_zero": False}
    wanted |= {"value_mm": 0.12, "relative_mm": 0.02, "resolution_mm": 0.01}
    wanted |= {"x_mm": 31.0, "y_mm": -32.5, "z_mm": 0.2, "nozzle_c": 23.5, "bed_c": 41.25}
    assert {name: reading[name] for name in wanted} == wanted
    assert {name: float(row[name]) for name in wanted} == {
        name: float(value) for name, value in wanted.items()
    }


def test_a_disk_that_allows_no_write_ahead_log_is_refused() -> None:
    """As one in memory allows none (SQLite's documentation of `journal_mode`)."""
    with (
        closing(sqlite3.connect(":memory:", isolation_level=None)) as connection,
        pytest.raises(StoreError, match="no write-ahead log"),
    ):
        _settle(connection, Path("runs.sqlite"))


async def test_a_watchdog_hears_when_the_database_can_not_be_had(
    store: Store, database: Path
) -> None:
    await store.answers()
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="another program is writing"):
            await store.answers()
    await store.answers()


async def test_after_a_fault_within_a_transaction_the_next_rows_are_taken(store: Store) -> None:
    with pytest.raises(StoreError):
        await store._writer.write("INSERT INTO nothing_of_that_name VALUES (1)", ())
    await store.add_event(AN_EVENT)
    assert (await store.record(1)).events == [AN_EVENT]
