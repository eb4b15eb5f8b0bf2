"""A table of heights that somebody measured: columns x, y and height, a row a reading."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.sources.tables.number import MM, Cell, head_and_unit, read_cell
from hostctl.report.sources.tables.text import read_table

COLUMNS = {"x": ("x",), "y": ("y",), "height": ("height", "z"), "point": ("point", "name")}
NEEDED = ("x", "y", "height")
_GIVE = "Give a table with columns x_mm, y_mm and height_mm, a row a reading."
_MOST_ROWS = 100_000
_MOST_MM = 20.0
"""No bed's heights reach over more; those that do have another unit (choice ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightsFile:
    """Each place once, with all heights read there, in mm. resolution_mm: as finely as they are
    written."""

    points: tuple[str, ...]
    x_mm: tuple[float, ...]
    y_mm: tuple[float, ...]
    again: tuple[tuple[float, ...], ...]
    resolution_mm: float


@dataclass(frozen=True, slots=True)
class _Column:
    """Where it stands, and the unit of its plain numbers, None where its head names none."""

    place: int
    unit: str | None


def heights_in(path: Path) -> HeightsFile:
    """The table. Raises DataError, which names the line."""
    lines = read_table(path, NEEDED).lines
    first = next(lines, None)
    if first is None:
        raise DataError(str(path), "is empty", _GIVE)
    columns = _columns(path, first[1])
    found: dict[tuple[float, float], list[float]] = {}
    names: dict[tuple[float, float], str] = {}
    finest = inf
    for number, row in lines:
        where = f"{path}:{number}"
        at = (_mm(where, row, columns, "x")[0], _mm(where, row, columns, "y")[0])
        height_mm, step_mm = _mm(where, row, columns, "height")
        found.setdefault(at, []).append(height_mm)
        names.setdefault(at, _name(row, columns) or f"x{at[0]:g} y{at[1]:g}")
        finest = min(finest, step_mm)
        if len(found) > _MOST_ROWS:
            raise DataError(str(path), f"has more than {_MOST_ROWS} points", "Give fewer.")
    if not found:
        raise DataError(str(path), "holds no height", _GIVE)
    _must_be_a_beds(path, first[1][columns["height"].place], found.values())
    return HeightsFile(
        points=tuple(names.values()),
        x_mm=tuple(x_mm for x_mm, _ in found),
        y_mm=tuple(y_mm for _, y_mm in found),
        again=tuple(map(tuple, found.values())),
        resolution_mm=finest,
    )


def _must_be_a_beds(path: Path, head: str, again: Iterable[Sequence[float]]) -> None:
    """Raises DataError for heights that reach further than any bed's."""
    values = [height_mm for heights in again for height_mm in heights]
    reach_mm = max(values) - min(values)
    if reach_mm > _MOST_MM:
        what = f"the heights of column '{head.strip()}' reach over {reach_mm:.4g} mm"
        step = "Name their unit in the column, as height_um, or correct the heights."
        raise DataError(str(path), what, step)


def _columns(path: Path, heads: Sequence[str]) -> Mapping[str, _Column]:
    """Raises DataError where one is missing, or its unit is no length."""
    plain = [head_and_unit(head) for head in heads]
    found = dict(_found(plain))
    missing = [role for role in NEEDED if role not in found]
    if missing:
        shown = ", ".join(heads)[:80]
        what = f"has no column for {' and '.join(missing)} among: {shown}"
        raise DataError(str(path), what, _GIVE)
    return found


def _found(heads: Sequence[tuple[str, str | None]]) -> Iterator[tuple[str, _Column]]:
    for role, names in COLUMNS.items():
        for place, (name, unit) in enumerate(heads):
            if name in names:
                yield role, _Column(place, unit)
                break


def _mm(
    where: str, row: Sequence[str], columns: Mapping[str, _Column], role: str
) -> tuple[float, float]:
    """A length, and the step that it is written to. Raises DataError."""
    column = columns[role]
    cell = read_cell(row[column.place] if column.place < len(row) else "")
    if not isinstance(cell, Cell):
        said = cell.replace("no reading", "nothing stands there")
        raise DataError(where, f"{role}: {said}", "Correct the row, or take it out.")
    unit = cell.unit or column.unit
    if unit is None:
        what = f"{role}: '{cell.value:g}' has no unit, and its column names none"
        raise DataError(where, what, f"Call the column {role}_mm, {role}_um or '{role} (in)'.")
    return cell.value * MM[unit], MM[unit] / 10**cell.decimals


def _name(row: Sequence[str], columns: Mapping[str, _Column]) -> str:
    column = columns.get("point")
    return row[column.place].strip() if column and column.place < len(row) else ""
