"""What a table's readings were read to: the widest grid that holds them all, or as told."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from math import gcd
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.basis.reference import Reference
from hostctl.report.sources.tables.columns import Found
from hostctl.report.sources.tables.number import MM, Cell, head_and_unit, read_cell
from hostctl.report.sources.tables.rows import Bad, BadRows, Rows
from hostctl.report.sources.tables.text import read_table

_FEWEST_TO_INFER = 8  # different readings that show a grid coarser than their decimals
_OFF_GRID = 1e-6  # in resolutions
_SAME_MM = 1e-9  # nearer than this, two readings are one
_FINEST_MM, _COARSEST_MM = 1e-5, 1000.0
_MANY_BESIDE = 8  # readings beside which a single finer one is hardly another reading
_WHOLE = 100.0  # from here up, a number without a mark beside 1.234 is hardly one of its kind
_THOUSANDS = re.compile(r"\D?[1-9]\d{0,2}[.,]\d{3}(\D.*)?")


def resolution_of(path: Path, rows: Rows, unit: str | None) -> float:
    """The resolution, mm. unit: of all readings; None where they differ.

    Taken as one step of the last decimal written, or, where enough different readings show it, as
    the 2, 5, 10, … such steps that all of them keep to. Raises DataError where nothing shows it.
    """
    if unit is None:
        raise _ask(path, "readings in different units have no one grid")
    cells = rows.numbers
    decimals = max(cell.decimals for cell in cells)
    wholes = sorted({round(cell.value * 10**decimals) for cell in cells})
    if len(wholes) == 1 and decimals == 0:
        raise _ask(path, "all readings are alike and whole: what they were read to can't be seen")
    step = _widest_step([whole - wholes[0] for whole in wholes])
    enough = len(wholes) >= _FEWEST_TO_INFER
    return (step if enough else 1) / 10.0**decimals * MM[unit]


def resolution_named(path: Path, rows: Rows, found: Found) -> float | None:
    """The coarsest that a column of resolutions names, mm. None without one, or where it is blank.

    Raises DataError for what is no resolution.
    """
    place = found.place("resolution")
    named = {cell.strip() for cell in rows.resolutions} - {""}
    if place is None or not named:
        return None
    unit = head_and_unit(found.heads[place])[1] or found.unit
    return max(_as_resolution(path, text, unit or "mm") for text in named)


def _as_resolution(path: Path, text: str, unit: str) -> float:
    """In mm. unit: where the cell names none."""
    cell = read_cell(text)
    if isinstance(cell, str) or cell.value <= 0.0:
        raise DataError(str(path), f"{text[:40]!r} is no resolution", "Or say --resolution MM.")
    return cell.value * MM[cell.unit or unit]


def check_decimals(path: Path, rows: Rows, found: Found) -> None:
    """Raises DataError for a single number finer than all others: a mean, perhaps."""
    texts = {text: cell.decimals for text, cell in rows.cells.items() if isinstance(cell, Cell)}
    finest = max(texts.values())
    fine = [text for text, decimals in texts.items() if decimals == finest]
    readings = sum(len(part.values) for part in rows.parts.values())
    if len(fine) > 1 or len(texts) == 1 or readings <= _MANY_BESIDE:
        return
    lines = lines_with(path, found, fine)[fine[0]]
    if len(lines) == 1:
        what = f"{fine[0].strip()!r} has more decimals than all others, as a mean would"
        raise DataError(f"{path}:{lines[0]}", what, "If it is a reading: --resolution MM")


def lines_with(path: Path, found: Found, texts: Collection[str]) -> dict[str, list[int]]:
    """The lines whose reading is written like one of these."""
    at: dict[str, list[int]] = {text: [] for text in texts}
    width = max(found.at.values()) + 1
    for line, row in read_table(path, found.asked).lines:
        if len(row) >= width and (text := found.reading_in(row)) in at:
            at[text].append(line)
    return at


def check_marks(
    path: Path,
    cells: Mapping[str, Cell | str],
    lines_of: Callable[[Collection[str]], Mapping[str, Sequence[int]]],
) -> list[Bad]:
    """Each row of the rarer decimal mark, where points and commas are mixed.

    lines_of: the lines that hold such texts.  Raises DataError where a mark may part thousands:
    1,234 beside 987.
    """
    numbers = [(text, cell) for text, cell in cells.items() if isinstance(cell, Cell)]
    if len({cell.mark for _, cell in numbers} - {""}) > 1:
        return _mixed(lines_of([text for text, cell in numbers if cell.mark]))
    _check_thousands(path, [(text.strip(), cell) for text, cell in numbers])
    return []


def _mixed(lines: Mapping[str, Sequence[int]]) -> list[Bad]:
    """Each of the rarer mark is named, beside the first of the other."""
    places = sorted((line, text.strip()) for text, at in lines.items() for line in at)
    by_mark = [[place for place in places if mark in place[1]] for mark in ".,"]
    rare, usual = sorted(filter(None, by_mark), key=len)
    mixed = "decimal points and decimal commas are mixed"
    other = f"{usual[0][1]!r} in line {usual[0][0]}; use one of them throughout"
    return [(line, f"{mixed}: {text!r} here, {other}") for line, text in rare]


def _check_thousands(path: Path, numbers: Sequence[tuple[str, Cell]]) -> None:
    marked = [text for text, cell in numbers if cell.mark]
    whole = [text for text, cell in numbers if not cell.mark and abs(cell.value) >= _WHOLE]
    if marked and whole and all(map(_THOUSANDS.fullmatch, marked)):
        what = f"{marked[0]!r} beside {whole[0]!r}: a mark may part thousands or decimals"
        raise DataError(str(path), what, "Leave out the marks between thousands.")


def check_resolution(path: Path, resolution_mm: float) -> None:
    """Raises DataError for what no gauge is read to: digits left by a calculation, a wrong unit."""
    if not _FINEST_MM * (1 - _OFF_GRID) <= resolution_mm <= _COARSEST_MM:
        raise _ask(path, f"readings to {resolution_mm:.3g} mm: no gauge is read to that")


def hold_to_grid(path: Path, rows: Rows, reference: Reference, resolution_mm: float) -> None:
    """Raises BadRows with each reading that lies between two graduations."""
    bad: list[Bad] = []
    for part in rows.parts.values():
        if not part.values:
            continue
        start = part.values[0] if reference == "datum" else part.zero or 0.0
        for line, value in zip(part.lines, part.values, strict=True):
            steps = (value - start) / resolution_mm
            below_a_step = round(steps) == 0 and abs(value - start) > _SAME_MM
            if abs(steps - round(steps)) > _OFF_GRID or below_a_step:
                what = f"{value:g} mm lies between two graduations of {resolution_mm:g} mm"
                bad.append((line, what))
    if bad:
        raise BadRows(path, bad)


def _widest_step(differences: Sequence[int]) -> int:
    """The largest of 1, 2 and 5 times powers of ten that all differences are multiples of."""
    whole = gcd(*differences)
    steps = (n * 10**power for power in range(len(str(whole))) for n in (1, 2, 5))
    return max((step for step in steps if whole and whole % step == 0), default=1)


def _ask(path: Path, what: str) -> DataError:
    return DataError(str(path), what, "Say it: --resolution MM")
