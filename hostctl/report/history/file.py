"""A table of dates and values that somebody kept, as points in time."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.history.result import Point
from hostctl.report.sources.tables.grid import check_marks
from hostctl.report.sources.tables.moment import moment
from hostctl.report.sources.tables.number import MM, Cell, head_and_unit, read_cell, unknown_unit
from hostctl.report.sources.tables.rows import Bad, BadRows, Line
from hostctl.report.sources.tables.text import read_table

_HEAD = "Its first line should name the columns, as: date;value (mm)."
_DATES = ("date", "time", "when", "day", "taken_at", "started")


def history_points(path: Path) -> list[Point]:
    """The file's values in mm, in order of time. Raises DataError; BadRows names each bad row.

    A column of dates, as 2026-11-25 or 25.11.2026, is not a must; without one the file's order is
    taken.
    """
    head, lines = _head(path, read_table(path).lines)
    dates, values, unit = _columns(path, head)
    bad: list[Bad] = []
    found: list[tuple[str, Cell]] = []
    texts: dict[str, Cell] = {}
    at: list[int] = []
    lines_of: defaultdict[str, list[int]] = defaultdict(list)
    for line, row in lines:
        date = _date(row, dates)
        cell = _value(row, values, len(head))
        if date is None:
            bad.append((line, f"{row[dates or 0]!r} is no date such as 2026-11-25"))
        elif isinstance(cell, str):
            bad.append((line, cell))
        else:
            found.append((date, cell))
            texts[row[values]] = cell
            at.append(line)
            lines_of[row[values]].append(line)
    bad += check_marks(path, texts, lambda _: lines_of)
    if unit is None:
        bad += _without_unit(at, [cell for _, cell in found])
    if bad:
        raise BadRows(path, bad)
    if dates is not None:
        found.sort(key=lambda pair: pair[0])
    return [
        Point(
            name=f"check {number}", when=date[:10], value=cell.value * MM[cell.unit or unit or "mm"]
        )
        for number, (date, cell) in enumerate(found, 1)
    ]


def _without_unit(lines: Sequence[int], cells: Sequence[Cell]) -> list[Bad]:
    """The lines that name no unit, where others do."""
    without = [line for line, cell in zip(lines, cells, strict=True) if cell.unit is None]
    if len(without) == len(cells):
        return []
    return [(line, "its value has no unit, where other rows name theirs") for line in without]


def _head(path: Path, lines: Iterator[Line]) -> tuple[list[str], Iterator[Line]]:
    """A file of bare values needs no head; in one with dates a missing head would cost a check."""
    line, head = next(lines, (0, []))
    if not any(isinstance(read_cell(cell), Cell) for cell in head):
        return head, lines
    if len(head) > 1:
        raise DataError(str(path), "its first line holds a value, not names", _HEAD)
    return ["value"], chain([(line, head)], lines)


def _columns(path: Path, head: Sequence[str]) -> tuple[int | None, int, str | None]:
    """Where the dates stand, where the values stand, and the values' unit if it is named."""
    named = [head_and_unit(cell) for cell in head]
    dates = next((i for i, (name, _) in enumerate(named) if name.startswith(_DATES)), None)
    others = [index for index in range(len(head)) if index != dates]
    if len(others) > 1 and dates is None:
        raise DataError(
            str(path),
            f"no column is called date, and {len(others)} may be the values ({', '.join(head)})",
            f"Call it one of: {', '.join(_DATES)}.",
        )
    if len(others) != 1:
        raise DataError(
            str(path),
            f"has {len(others)} columns beside the date, one is needed",
            _HEAD,
        )
    unit = named[others[0]][1]
    if unit is None and (word := unknown_unit(head[others[0]])):
        raise DataError(
            str(path), f"the values are in a unit that is not known ({word})", "Convert them to mm."
        )
    return dates, others[0], unit


def _value(row: Sequence[str], place: int, most: int) -> Cell | str:
    """The row's value, or why it has none: a decimal comma among commas makes a cell too many."""
    if any(map(str.strip, row[most:])):
        return f"{len(row)} cells, where the head has {most}"
    return read_cell(row[place]) if place < len(row) else "no reading"


def _date(row: Sequence[str], column: int | None) -> str | None:
    """The date as text that sorts; empty where there is no column for it."""
    if column is None:
        return ""
    try:
        return moment(row[column]).isoformat()
    except (ValueError, IndexError):
        return None
