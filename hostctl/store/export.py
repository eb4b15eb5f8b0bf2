"""A run for other programs: as a table (CSV, RFC 4180) and whole (JSON, RFC 8259). Both stream.

CSV has one line a reading, void ones included and marked; units are in the column names, times are
UTC. A name or reason that a spreadsheet would take for a formula has an apostrophe before it.
JSON has all there is of the run: its texts, seed, readings, marks and events.

Almost no reading needs quoting, and looking in each field for what does is most of a CSV writer's
work. So some hundred lines are formatted plainly at once and the separators in them counted. A
count that is off shows that a field holds one itself, and then those lines are written with care.
"""

import csv
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime
from math import isnan
from pathlib import Path
from typing import Any, TextIO

from hostctl.store.file.instants import utc_text
from hostctl.store.judging import Judge, readings_of, relative_mm
from hostctl.store.reading import read_events, read_marks, read_summary, reading_from_database

_LINES_AT_ONCE = 256
_TEXTS_KEPT = 5_000
_BEGINS_FORMULA = ("=", "+", "-", "@", "\t", "\r")

_PLACE = ("reading_id", "block", "round")
_COUNTS = ("trial", "attempt", "is_zero")
_SIZES = ("resolution_mm", "x_mm", "y_mm", "z_mm", "nozzle_c", "bed_c")
_NAMES = ("method", "operator", "point", "source", "channel")
_TIMES = ("taken_at", "prompted_at", "answered_at", "stored_at")
_PROGRESS = ("trials_done", "trials_total")

HEADER = (
    *("run", *_PLACE, *_COUNTS, "value_mm", "relative_mm", *_SIZES, *_NAMES),
    *("void", "void_reason", *(f"{name}_utc" for name in _TIMES), *_PROGRESS),
)


def _joined(names: Sequence[str]) -> str:
    """Columns that need no quoting, as one text: fewer things to carry over from SQLite."""
    return " || ',' || ".join(f"ifnull({name}, '')" for name in names)


_FOR_TABLE = ", ".join(
    (*_PLACE, "value_mm", _joined(_COUNTS), *_SIZES, *_NAMES, _joined((*_TIMES, *_PROGRESS)))
)
_FOR_JSON = ", ".join((*_PLACE, *_COUNTS, "value_mm", *_SIZES, *_NAMES, *_TIMES, *_PROGRESS))
_FIELDS_OF_TABLE = len(HEADER) - len((*_COUNTS, *_TIMES, *_PROGRESS)) + 2  # two are joined
_LINE = ",".join(["%s"] * _FIELDS_OF_TABLE) + "\r\n"


def export_csv(path: Path, run: int, out: TextIO) -> None:
    """Write the readings as a table; what is absent is an empty field, true is 1 and false 0.

    out: opened with newline="", since lines end in CR LF as the standard has it.
    Raises StoreError when the database can't be read or has no such run.
    """
    with reading_from_database(path) as connection:
        judge, text_of, harmless = Judge(connection, path, run), _TextOf(), _Harmless()
        writer = csv.writer(out)
        writer.writerow(HEADER)
        for chunk in readings_of(connection, run, _FOR_TABLE, _LINES_AT_ONCE):
            rows = _table_rows(run, chunk, judge, text_of, harmless)
            lines = "".join(map(_LINE.__mod__, rows))
            if _is_plain(lines, len(rows)):
                out.write(lines)
            else:
                writer.writerows(map(_parted, rows))


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
        judge, separator = Judge(connection, path, run), "\n"
        for chunk in readings_of(connection, run, _FOR_JSON, _LINES_AT_ONCE):
            for reading in _json_readings(run, chunk, judge):
                out.write(separator + _json(reading))
                separator = ",\n"
        out.write("\n]}\n")


class _TextOf(dict[float | None, str]):
    """Sizes as text, each written out once: readings are whole graduations, few are new."""

    def __missing__(self, size: float | None) -> str:
        if len(self) >= _TEXTS_KEPT:
            self.clear()
        self[size] = "" if size is None or isnan(size) else repr(size)
        return self[size]


class _Harmless(dict[str | None, str | None]):
    """Names and reasons as text that is no formula, each looked at once: few are new."""

    def __missing__(self, text: str | None) -> str | None:
        if len(self) >= _TEXTS_KEPT:
            self.clear()
        self[text] = f"'{text}" if text is not None and text.startswith(_BEGINS_FORMULA) else text
        return self[text]


def _table_rows(
    run: int, chunk: list[tuple[Any, ...]], judge: Judge, text_of: _TextOf, harmless: _Harmless
) -> list[tuple[Any, ...]]:
    """Fields as in HEADER; counts, and times with progress, are still joined."""
    text, voids, told = text_of.__getitem__, judge.voids, harmless.__getitem__
    zeros_mm = (judge.zero_mm[row[1:3]] for row in chunk)
    values = relative_mm([row[3] for row in chunk], zeros_mm)
    return [
        (
            *(run, *row[:3], row[4], text(row[3]), text(relative), *map(text, row[5:11])),
            *(*map(told, row[11:16]), int(row[0] in voids), told(voids.get(row[0], "")), row[16]),
        )
        for row, relative in zip(chunk, values, strict=True)
    ]


def _is_plain(lines: str, count: int) -> bool:
    """No field of these lines holds a separator, a line end or a quotation mark."""
    return (
        lines.count(",") == count * (len(HEADER) - 1)
        and lines.count("\n") == lines.count("\r") == count
        and '"' not in lines
    )


def _parted(row: tuple[Any, ...]) -> list[Any]:
    return [*row[:4], *row[4].split(","), *row[5:-1], *row[-1].split(",")]


def _json_readings(
    run: int, chunk: list[tuple[Any, ...]], judge: Judge
) -> Iterator[dict[str, Any]]:
    """Each reading with the names of HEADER, in its order."""
    zeros_mm = (judge.zero_mm[row[1:3]] for row in chunk)
    values = relative_mm([row[6] for row in chunk], zeros_mm)
    for row, relative in zip(chunk, values, strict=True):
        worth = (None if isnan(relative) else relative,)
        void = (row[0] in judge.voids, judge.voids.get(row[0]))
        fields = (run, *row[:5], bool(row[5]), row[6], *worth, *row[7:18], *void, *row[18:])
        yield dict(zip(HEADER, fields, strict=True))


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_json_instant)


def _json_instant(value: datetime) -> str:
    return utc_text(value)
