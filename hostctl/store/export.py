"""A run for other programs: as a table (CSV, RFC 4180) and whole (JSON, RFC 8259). Both stream.

CSV has one line a reading, void ones included and marked; units are in the column names, times are
UTC. JSON has all there is of the run: its texts, seed, readings, marks and events.

Almost no reading needs quoting, and looking in each field for what does is most of a CSV writer's
work. So some hundred lines are formatted plainly at once and the separators in them counted. A
count that is off shows that a field holds one itself, and then those lines are written with care.
"""

import csv
import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any, TextIO

from hostctl.store.instants import utc_text
from hostctl.store.judging import judged
from hostctl.store.reading import read_events, read_marks, read_summary, reading_from_database

_LINES_AT_ONCE = 500

# Column name and what it is, as `judged` takes it. The first and the last hold nothing that could
# need quoting, so SQLite joins each of the two sets to one text.
_COUNTS = {
    "run": "r.run",
    "reading_id": "r.reading_id",
    "block": "r.block",
    "round": "r.round",
    "trial": "r.trial",
    "attempt": "r.attempt",
    "is_zero": "r.is_zero",
}
_FIELDS = {
    "value_mm": "r.value_mm",
    "relative_mm": "{relative_mm}",
    "resolution_mm": "r.resolution_mm",
    "x_mm": "r.x_mm",
    "y_mm": "r.y_mm",
    "z_mm": "r.z_mm",
    "nozzle_c": "r.nozzle_c",
    "bed_c": "r.bed_c",
    "method": "r.method",
    "operator": "r.operator",
    "point": "r.point",
    "source": "r.source",
    "channel": "r.channel",
    "void": "v.reading_id IS NOT NULL",
    "void_reason": "v.void",
}
_TIMES_AND_PROGRESS = {
    "taken_at_utc": "r.taken_at",
    "prompted_at_utc": "r.prompted_at",
    "answered_at_utc": "r.answered_at",
    "stored_at_utc": "r.stored_at",
    "trials_done": "r.trials_done",
    "trials_total": "r.trials_total",
}
_ALL = _COUNTS | _FIELDS | _TIMES_AND_PROGRESS
_MAY_BE_ABSENT = {
    "relative_mm",
    "nozzle_c",
    "bed_c",
    "void_reason",
    "prompted_at_utc",
    "answered_at_utc",
}
_TRUE_OR_FALSE = ("is_zero", "void")

HEADER = tuple(_ALL)


def export_csv(path: Path, run: int, out: TextIO) -> None:
    """Write the readings as a table; what is absent is an empty field, true is 1 and false 0.

    out: opened with newline="", since lines end in CR LF as the standard has it.
    Raises StoreError when the database can't be read or has no such run.
    """
    with reading_from_database(path) as connection:
        read_summary(connection, path, run)
        csv.writer(out).writerow(HEADER)
        rows = judged(connection, run, _AS_TABLE)
        while chunk := rows.fetchmany(_LINES_AT_ONCE):
            lines = "".join(map(_LINE.__mod__, chunk))
            if _is_plain(lines, len(chunk)):
                out.write(lines)
            else:
                csv.writer(out).writerows(map(_separate, chunk))


def export_json(path: Path, run: int, out: TextIO) -> None:
    """Write all that is known of the run as one JSON object; each reading is a line of its own.

    Raises StoreError when the database can't be read or has no such run.
    """
    with reading_from_database(path) as connection:
        summary = asdict(read_summary(connection, path, run))
        run_itself = {"run": summary.pop("run"), **summary.pop("new"), **summary}
        marks = [asdict(mark) for mark in read_marks(connection, run)]
        events = [
            asdict(event) | {"data": json.loads(event.data)}
            for event in read_events(connection, run)
        ]
        out.write(f'{{"run": {_json(run_itself)},\n"marks": {_json(marks)},\n')
        out.write(f'"events": {_json(events)},\n"readings": [')
        separator = "\n"
        for row in judged(connection, run, ", ".join(_ALL.values())):
            out.write(separator + _json(_named(row)))
            separator = ",\n"
        out.write("\n]}\n")


def _joined(columns: dict[str, str]) -> str:
    return " || ',' || ".join(_empty_for_null(name) for name in columns)


def _empty_for_null(name: str) -> str:
    return f"ifnull({_ALL[name]}, '')" if name in _MAY_BE_ABSENT else _ALL[name]


_AS_TABLE = ", ".join(
    (_joined(_COUNTS), *map(_empty_for_null, _FIELDS), _joined(_TIMES_AND_PROGRESS))
)
_LINE = ",".join(["%s"] * (len(_FIELDS) + 2)) + "\r\n"


def _is_plain(lines: str, count: int) -> bool:
    """No field of these lines holds a separator, a line end or a quotation mark."""
    return (
        lines.count(",") == count * (len(HEADER) - 1)
        and lines.count("\n") == lines.count("\r") == count
        and '"' not in lines
    )


def _separate(row: Sequence[Any]) -> list[Any]:
    return [*row[0].split(","), *row[1:-1], *row[-1].split(",")]


def _named(row: Sequence[Any]) -> dict[str, Any]:
    named = dict(zip(HEADER, row, strict=True))
    return named | {name: bool(named[name]) for name in _TRUE_OR_FALSE}


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_json_instant)


def _json_instant(value: datetime) -> str:
    return utc_text(value)
