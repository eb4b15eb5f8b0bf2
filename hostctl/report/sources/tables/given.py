"""Readings that a program gives: plain numbers, or columns by name, as material for an analysis."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Protocol, TypeAlias, cast

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference
from hostctl.report.sources.material import Material
from hostctl.report.sources.tables.blocks import blocks_of
from hostctl.report.sources.tables.columns import Found, find_columns
from hostctl.report.sources.tables.grid import hold_to_grid
from hostctl.report.sources.tables.order import put_in_order
from hostctl.report.sources.tables.rows import (
    BadRows,
    Line,
    Rows,
    gather,
    readings_counted,
)

NAME = "readings"
"""What they are called in sentences and errors."""

_AS_THEY_STAND = (
    "Nobody said what the readings count from, so they are taken as they stand, each block about "
    "its own mean."
)
_WHERE_NAMES_ARE = ("column_names", "columns")


class Columns(Protocol):
    """Anything that gives its columns by name: a mapping, a record array, a data frame."""

    def __getitem__(self, name: str, /) -> Iterable[object]:
        """One column."""
        ...


Given: TypeAlias = "Readings | Columns"
"""Numbers in mm, in the order taken, or columns by name, one row a reading."""


def given_material(
    readings: Given,
    *,
    resolution_mm: float,
    reference: Reference | None = None,
    columns: Mapping[str, str] | None = None,
) -> Material:
    """The readings, in the order given.

    readings: numbers in mm, or columns by name, one row a reading; names and roles are those of a
    CSV file, and a unit may stand in the name ("reading_um").  columns: role to column name, where
    names don't tell.  resolution_mm: what they were read to; numbers don't tell either.
    reference: what they count from; left out, a column of zeros says it, else they are taken as
    they stand, each block about its own mean.

    Raises DataError; BadRows, which names each row that can't be used, is one.
    """
    if not resolution_mm > 0.0:
        raise DataError(NAME, f"a resolution of {resolution_mm} mm", "Give it above 0, in mm.")
    table = _columns(readings)
    found = find_columns(NAME, list(table), columns or {})
    rows = _rows(table, found)
    zeroed = any(part.zero is not None for part in rows.parts.values())
    counted: Reference = reference or ("first" if zeroed else "datum")
    hold_to_grid(Path(NAME), rows, counted, resolution_mm)
    notes = [f"Left out: {readings_counted(rows.void)} marked void."] if rows.void else []
    if reference is None and not zeroed:
        notes.append(_AS_THEY_STAND)
    unnamed = NAME if found.place("method") is None else ""
    return Material(
        name=NAME,
        title=NAME,
        kind="",
        machine="",
        reference=counted,
        zero_known=reference == "datum",
        resolution_mm=resolution_mm,
        resolution_from="as given",
        blocks=tuple(blocks_of(rows, counted, unnamed=unnamed)),
        goal=None,
        notes=tuple(notes),
    )


def _rows(table: Mapping[str, Sequence[object]], found: Found) -> Rows:
    """The readings, in order. Raises DataError, BadRows."""
    rows = gather(_lines(table), found, found.unit)
    if rows.bad:
        raise BadRows(Path(NAME), rows.bad)
    if not any(part.values for part in rows.parts.values()):
        raise DataError(NAME, "there is no reading", "Give at least two.")
    put_in_order(rows, found)
    return rows


def _columns(readings: Given) -> dict[str, Sequence[object]]:
    """Each column by its name. Raises DataError where they differ in length."""
    names = _names(readings)
    if names is None:
        return {"reading": list(cast(Readings, readings))}
    by_name = cast(Columns, readings)
    table: dict[str, Sequence[object]] = {name: list(by_name[name]) for name in names}
    lengths = {name: len(column) for name, column in table.items()}
    if len(set(lengths.values())) > 1:
        counted = ", ".join(f"{name} {length}" for name, length in lengths.items())
        raise DataError(NAME, f"the columns differ in length: {counted}", "Give one row a reading.")
    return table


def _names(readings: object) -> list[str] | None:
    """The names of its columns; None where it is one column without a name."""
    if isinstance(readings, Mapping):
        return [str(name) for name in readings]
    inner = getattr(getattr(readings, "dtype", None), "names", None)
    for names in (inner, *(getattr(readings, name, None) for name in _WHERE_NAMES_ARE)):
        if names is not None and not callable(names):
            return [str(name) for name in names]
    return None


def _lines(table: Mapping[str, Sequence[object]]) -> Iterator[Line]:
    for number, row in enumerate(zip(*table.values(), strict=True), start=1):
        yield number, ["" if cell is None else str(cell) for cell in row]
