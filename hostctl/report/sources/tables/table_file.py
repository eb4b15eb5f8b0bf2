"""A CSV or spreadsheet export that somebody already has, as material for an analysis.

Columns are found by name or asked for; a unit stands in the head or in each cell; each row that
can't be used is named, all of them at once. Our own export is read too, its zeros and void readings
included; what it has of a tie is left out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain, islice
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.basis.reference import Reference
from hostctl.records import TIE_METHOD
from hostctl.report.sources.material import Material
from hostctl.report.sources.tables.blocks import blocks_of
from hostctl.report.sources.tables.columns import Found, find_columns, unit_below
from hostctl.report.sources.tables.grid import (
    check_decimals,
    check_marks,
    check_resolution,
    hold_to_grid,
    lines_with,
    resolution_named,
    resolution_of,
)
from hostctl.report.sources.tables.names import (
    check_spelling,
    filled_down,
    looks_merged,
    partly_blank,
    still_blank,
)
from hostctl.report.sources.tables.number import Cell, read_cell
from hostctl.report.sources.tables.order import put_in_order
from hostctl.report.sources.tables.rows import (
    KEYS,
    Bad,
    BadRows,
    Line,
    Rows,
    gather,
    readings_counted,
    rows_named,
)
from hostctl.report.sources.tables.text import read_table

_A_FEW = 5  # bad rows that are worth naming where no other is good
_TAKEN_AS_THEY_STAND = (
    "The file does not say what its readings count from, so they are taken as they stand, each "
    "block about its own mean. If the indicator was zeroed at a first setting that is not listed, "
    "say --reference first."
)
_FEW_MM = 20.0  # dial indicators travel about 10 mm: common practice, no source
_BELOW_A_TITLE = "What stands above the line '{}' was left out."
_MERGED = "Blank cells under {} take the name above them, as merged cells mean it."


_OUR_OWN = "reading_id"  # a column of our own export
_OF_TIES = (
    "Left out: {} of the tie, which are no settings. The table does not tell the gap by it; the "
    "run itself does, and its report."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command line says of a file. None: to be found out."""

    columns: Mapping[str, str] = field(default_factory=dict)
    unit: str | None = None
    resolution_mm: float | None = None
    reference: Reference | None = None


def table_material(path: Path, asked: Asked) -> Material:
    """The file's readings. Raises DataError; BadRows, which names each one, is one."""
    rows, found, notes = _rows(path, asked)
    _check_rows(path, rows)
    if not_understood := put_in_order(rows, found):
        notes.append(not_understood)
    if ties := _leave_out_ties(rows, found):
        notes.append(_OF_TIES.format(readings_counted(ties)))
    if rows.void:
        notes.append(f"Left out: {readings_counted(rows.void)} that the file marks void.")
    zeroed = any(part.zero is not None for part in rows.parts.values())
    if asked.reference is None and not zeroed:
        notes.append(_TAKEN_AS_THEY_STAND)
    # without a column of methods, the file's name is the method: files can then be compared
    unnamed = path.stem if found.place("method") is None else ""
    reference: Reference = asked.reference or ("first" if zeroed else "datum")
    resolution_mm, resolution_from = _resolution(path, rows, found, asked)
    check_resolution(path, resolution_mm)
    if asked.resolution_mm is not None:
        hold_to_grid(path, rows, reference, resolution_mm)
    return Material(
        name=path.name,
        title=path.name,
        kind="",
        machine="",
        reference=reference,
        zero_known=asked.reference == "datum",
        resolution_mm=resolution_mm,
        resolution_from=resolution_from,
        blocks=tuple(blocks_of(rows, reference, unnamed=unnamed)),
        goal=None,
        notes=tuple(notes),
    )


def _leave_out_ties(rows: Rows, found: Found) -> int:
    """How many were, of our own export; a study of ties alone keeps its own."""
    ties = [key for key in rows.parts if key[0] == TIE_METHOD] if _OUR_OWN in found.heads else []
    if len(ties) == len(rows.parts):
        return 0
    return sum(len(rows.parts.pop(key).values) for key in ties)


def _rows(path: Path, asked: Asked) -> tuple[Rows, Found, list[str]]:
    """Its rows, its columns, and what a reader must know of how they were understood."""
    table = read_table(path, tuple(asked.columns.values()))
    found, lines = _head(path, table.lines, asked)
    column = found.unit or asked.unit
    rows = gather(lines, found, column)
    notes = [_BELOW_A_TITLE.format(";".join(found.heads))] if table.titled else []
    notes += _ties_left_out(path, rows, asked)
    if blank := partly_blank(rows):
        rows = _with_names(path, rows, found, column, blank)
        notes.append(_MERGED.format(" and ".join(blank)))
    notes += _unit_notes(path, rows, found, column)
    check_spelling(path, rows)
    return rows, found, notes


def _ties_left_out(path: Path, rows: Rows, asked: Asked) -> Iterator[str]:
    """A tie is no method: its rows are left out, unless there are no others. Raises DataError where
    readings are said to be from a datum, as beside a tie they are an indicator's."""
    place = KEYS.index("method")
    ties = [names for names in rows.parts if names[place] == TIE_METHOD]
    if ties and asked.reference == "datum":
        what = "holds rows of a tie, so its readings are those of an indicator, not gaps"
        raise DataError(str(path), what, "Name the run, or its report: these know the gaps.")
    if ties and len(ties) < len(rows.parts):
        left_out = sum(len(rows.parts.pop(names).values) for names in ties)
        yield f"Left out: {left_out} readings of a tie, which are no settings."


def _check_rows(path: Path, rows: Rows) -> None:
    """Raises BadRows where some can't be used, DataError where none holds a reading."""
    empty = not any(part.values for part in rows.parts.values())
    if empty and len(rows.bad) > _A_FEW:
        line, why = min(rows.bad)
        what = (
            f"holds no reading: none of {rows_named(rows.bad)} rows can be used; line {line}: {why}"
        )
        raise DataError(str(path), what, "Give a CSV file with a column of readings.")
    if rows.bad:
        raise BadRows(path, rows.bad)
    if empty:
        raise DataError(str(path), "holds no reading", "Export the readings again.")


def _head(path: Path, lines: Iterator[Line], asked: Asked) -> tuple[Found, Iterator[Line]]:
    """A file whose first line holds numbers only has no head: one column needs none."""
    first = next(lines, None)
    if first is None:
        raise DataError(str(path), "is empty", "Export the readings again.")
    if all(isinstance(read_cell(cell), Cell) for cell in first[1]):
        heads = [f"column {k}" for k in range(1, len(first[1]) + 1)]
        found = find_columns(str(path), heads, asked.columns, asked.unit)
        return replace(found, head_lines=0), chain([first], lines)
    second = next(lines, None)
    if second is None:
        return find_columns(str(path), first[1], asked.columns, asked.unit), lines
    found = find_columns(str(path), first[1], asked.columns, asked.unit, second[1])
    unit = unit_below(found, second[1])
    if unit is None or "unit" in found.at:
        return found, chain([second], lines)
    told = found.unit or asked.unit or unit
    if told != unit:
        what = f"this row says that readings are in {unit}, and they were said to be in {told}"
        raise DataError(f"{path}:{second[0]}", what, "Say one of them only.")
    return replace(found, unit=unit, head_lines=2), lines


def _resolution(path: Path, rows: Rows, found: Found, asked: Asked) -> tuple[float, str]:
    """What the readings were read to, mm, and where that comes from."""
    if asked.resolution_mm is not None:
        return asked.resolution_mm, "as given"
    if (named := resolution_named(path, rows, found)) is not None:
        return named, "named in the file"
    check_decimals(path, rows, found)
    unit = _one_unit(rows, found.unit or asked.unit)
    return resolution_of(path, rows, unit), "found from the readings themselves"


def _with_names(
    path: Path, rows: Rows, found: Found, column: str | None, blank: Sequence[str]
) -> Rows:
    """With blank names filled down, where cells look merged. Rows still without one are bad."""
    if not looks_merged(rows, blank):
        rows.bad += still_blank(_below_head(path, found), found, blank)
        return rows
    filled = gather(filled_down(_below_head(path, found), found), found, column)
    if wanted := [role for role in partly_blank(filled) if role in blank]:
        filled.bad += still_blank(filled_down(_below_head(path, found), found), found, wanted)
    return filled


def _below_head(path: Path, found: Found) -> Iterator[Line]:
    return islice(read_table(path, found.asked).lines, found.head_lines, None)


def _one_unit(rows: Rows, column: str | None) -> str | None:
    """The unit all readings are in; None where they differ."""
    units = {cell.unit or column or "mm" for cell in rows.numbers}
    return units.pop() if len(units) == 1 else None


def _unit_notes(path: Path, rows: Rows, found: Found, column: str | None) -> Iterator[str]:
    """What a reader must know of units. Where some name theirs, the fewer are bad; but
    plain numbers are mm, so a few that say so may stand among them."""
    units = {cell.unit for cell in rows.numbers}
    rows.bad += check_marks(path, rows.cells, partial(lines_with, path, found))
    if column or not units:
        return
    if units == {None}:
        note = "No unit is named, so readings are taken as mm (otherwise: --unit)."
        yield note + _too_large(rows)
    elif None in units:
        yield from _some_without(path, rows, found, only_mm=units == {None, "mm"})
    elif len(units) > 1:
        listed = ", ".join(sorted(str(unit) for unit in units))
        yield f"Units differ from row to row ({listed}) and were converted."


def _too_large(rows: Rows) -> str:
    """What to think of where no indicator reads so many whole millimetres."""
    largest = max(abs(cell.value) for cell in rows.numbers)
    if largest < _FEW_MM or any(cell.decimals for cell in rows.numbers):
        return ""
    return f" Whole numbers up to {largest:g} look like µm: if they are, say --unit um."


def _some_without(path: Path, rows: Rows, found: Found, *, only_mm: bool) -> Iterator[str]:
    without, named = _without_and_with(path, rows, found)
    few = len(named) < len(without)
    if few and only_mm and "unit" not in found.at:
        yield "Only some readings name their unit, mm; those without one are taken as mm too."
        return
    wrong = named if few else without
    why = "names a unit, where most rows don't"
    if not few:
        why = "has no unit, where other rows name theirs"
    rows.bad += [(line, f"{text!r} {why}") for line, text in wrong]


def _without_and_with(path: Path, rows: Rows, found: Found) -> tuple[list[Bad], list[Bad]]:
    """The lines whose reading names no unit, and those that name one, each with its text."""
    numbers = {text: cell.unit for text, cell in rows.cells.items() if isinstance(cell, Cell)}
    lines = lines_with(path, found, numbers)
    without = [(line, text) for text, unit in numbers.items() if not unit for line in lines[text]]
    named = [(line, text) for text, unit in numbers.items() if unit for line in lines[text]]
    return without, named
