"""A table of dates and values that somebody kept, as points in time."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.history_signs import Point
from hostctl.report.table_number import MM, head_and_unit, read_cell
from hostctl.report.table_rows import BadRows
from hostctl.report.table_text import read_table

_DATES = ("date", "time", "when", "day", "taken_at", "started")


def history_points(path: Path) -> list[Point]:
    """The file's values in mm, in order of time. Raises DataError; BadRows names each bad row.

    A column of dates as 2026-11-25 is not a must; without one the file's order is taken.
    """
    lines = read_table(path)
    _, head = next(lines, (0, []))
    dates, values, factor = _columns(path, head)
    bad: list[tuple[int, str]] = []
    found: list[tuple[str, float]] = []
    for line, row in lines:
        date = _date(row, dates)
        cell = read_cell(row[values]) if values < len(row) else "no reading"
        if date is None:
            bad.append((line, f"{row[dates or 0]!r} is no date such as 2026-11-25"))
        elif isinstance(cell, str):
            bad.append((line, cell))
        else:
            found.append((date, cell.value * (MM[cell.unit] if cell.unit else factor)))
    if bad:
        raise BadRows(path, bad)
    if dates is not None:
        found.sort(key=lambda pair: pair[0])
    return [
        Point(name=f"check {number}", when=date[:10], value=value)
        for number, (date, value) in enumerate(found, 1)
    ]


def _columns(path: Path, head: Sequence[str]) -> tuple[int | None, int, float]:
    """Where the dates stand, where the values stand, and the values' unit in mm."""
    named = [head_and_unit(cell) for cell in head]
    dates = next((i for i, (name, _) in enumerate(named) if name.startswith(_DATES)), None)
    others = [index for index in range(len(head)) if index != dates]
    if len(others) != 1:
        raise DataError(
            str(path),
            f"has {len(others)} columns beside the date, one is needed",
            "Its first line should name them, as: date;value (mm).",
        )
    unit = named[others[0]][1]
    return dates, others[0], MM[unit] if unit else 1.0


def _date(row: Sequence[str], column: int | None) -> str | None:
    """The date as text that sorts; empty where there is no column for it."""
    if column is None:
        return ""
    try:
        return datetime.fromisoformat(row[column].strip()).isoformat()
    except (ValueError, IndexError):
        return None
