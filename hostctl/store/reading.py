"""Reading what was recorded, from any process, also while another one records."""

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from hostctl.store.file.connection import connect_to_read, row_of_run
from hostctl.store.file.failure import in_users_words
from hostctl.store.file.schema import MADE_VOID
from hostctl.store.mapping import (
    EVENT_COLUMNS,
    MARK_COLUMNS,
    READING_COLUMNS,
    RUN_COLUMNS,
    event_from,
    mark_from,
    reading_from,
    run_from,
)
from hostctl.store.rows import (
    LOOKED_AT,
    REPORT_MADE,
    THERMAL_FAULT,
    KeptReport,
    NewEvent,
    NewMark,
    RunRecord,
    RunSummary,
    Surroundings,
)

_COUNTS = f"""
    (SELECT count(*) FROM readings r WHERE r.run = runs.run),
    (SELECT count(DISTINCT r.reading_id) FROM marks m CROSS JOIN readings r
     WHERE m.run = runs.run AND {MADE_VOID})"""
_RUNS = f"SELECT run, {_COUNTS}, {RUN_COLUMNS} FROM runs"
_LAST_END = f"""SELECT {EVENT_COLUMNS} FROM events
    WHERE run = ? AND kind IN ('ended', 'resumed') ORDER BY event_id DESC LIMIT 1"""
_READINGS = f"""SELECT reading_id, {READING_COLUMNS}, void, relative_mm
    FROM judged_readings WHERE run = ? ORDER BY reading_id"""
_MARKS = f"SELECT {MARK_COLUMNS} FROM marks WHERE run = ? ORDER BY mark_id"
_LAST_OF_HEAT = """SELECT kind, text FROM events
    WHERE kind IN (?, ?) AND json_extract(data, '$.machine') = ? ORDER BY event_id DESC LIMIT 1"""
_EVENTS = f"SELECT {EVENT_COLUMNS} FROM events WHERE run = ? ORDER BY event_id"

_LAST_REPORT = """SELECT kind, text, data FROM events
    WHERE run = ? AND kind IN (?, 'resumed') ORDER BY event_id DESC LIMIT 1"""

_SURROUNDINGS = f"""SELECT json_group_array(DISTINCT point), avg(bed_c), sum(is_zero = 0
    AND NOT EXISTS (SELECT 1 FROM marks m WHERE {MADE_VOID})) FROM readings r WHERE run = ?"""


@contextmanager
def reading_from_database(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection that can't write, all of whose queries see one state of the database.

    Raises StoreError when the database can't be read.
    """
    connection = connect_to_read(path)
    try:
        connection.execute("BEGIN")
        yield connection
    except sqlite3.Error as cause:
        raise in_users_words(path, cause) from cause
    finally:
        connection.close()


def list_runs(path: Path) -> list[RunSummary]:
    """Every run, oldest first. Raises StoreError when the database can't be read."""
    with reading_from_database(path) as connection:
        rows = connection.execute(f"{_RUNS} ORDER BY run")
        return [_summary(connection, row) for row in rows]


def read_summary(connection: sqlite3.Connection, path: Path, run: int) -> RunSummary:
    """One run of the list. Raises StoreError when there is no such run."""
    row = row_of_run(connection, path, f"{_RUNS} WHERE run = ?", run)
    return _summary(connection, row)


def read_record(path: Path, run: int) -> RunRecord:
    """All that is known of a run; readings in the order in which they were stored.

    Raises StoreError when the database can't be read or has no such run.
    """
    with reading_from_database(path) as connection:
        return RunRecord(
            summary=read_summary(connection, path, run),
            readings=[reading_from(row) for row in connection.execute(_READINGS, (run,))],
            marks=read_marks(connection, run),
            events=read_events(connection, run),
        )


def read_surroundings(path: Path, runs: Iterable[int]) -> dict[int, Surroundings]:
    """Where and how warm each run was read. Raises StoreError when the database can't be read."""
    with reading_from_database(path) as connection:
        rows = {run: connection.execute(_SURROUNDINGS, (run,)).fetchone() for run in runs}
    return {
        run: Surroundings(counting=counting or 0, points=frozenset(json.loads(points)), bed_c=bed_c)
        for run, (points, bed_c, counting) in rows.items()
    }


def read_marks(connection: sqlite3.Connection, run: int) -> list[NewMark]:
    """The trials of a run that were voided or skipped, oldest first."""
    return [mark_from(row) for row in connection.execute(_MARKS, (run,))]


def read_events(connection: sqlite3.Connection, run: int) -> list[NewEvent]:
    """What happened in a run, oldest first."""
    return [event_from(row) for row in connection.execute(_EVENTS, (run,))]


def standing_thermal_fault(path: Path, machine: str) -> str | None:
    """The thermal fault of a machine that nobody has looked at yet, in words; None: there is none.

    Raises StoreError when the database can't be read.
    """
    with reading_from_database(path) as connection:
        kinds = (THERMAL_FAULT, LOOKED_AT)
        last = connection.execute(_LAST_OF_HEAT, (*kinds, machine)).fetchone()
    return last[1] if last is not None and last[0] == THERMAL_FAULT else None


def last_report(path: Path, run: int) -> KeptReport | None:
    """The report that was made last of a run; None: none was, or the run went on since.

    Raises StoreError when the database can't be read.
    """
    with reading_from_database(path) as connection:
        last = connection.execute(_LAST_REPORT, (run, REPORT_MADE)).fetchone()
    if last is None or last[0] != REPORT_MADE:
        return None
    return KeptReport(file_name=json.loads(last[2])["file_name"], answer=last[1])


def _summary(connection: sqlite3.Connection, row: tuple[Any, ...]) -> RunSummary:
    """A row of _RUNS. A run that ended and was resumed since has not ended."""
    run, readings, void, *columns = row
    last = connection.execute(_LAST_END, (run,)).fetchone()
    end = event_from(last) if last is not None and last[2] == "ended" else None
    return RunSummary(
        run=run,
        new=run_from(tuple(columns)),
        readings=readings,
        void=void,
        ended_at=end.at if end else None,
        complete=bool(end and json.loads(end.data).get("complete", False)),
        end_reason=end.text if end else "",
    )
