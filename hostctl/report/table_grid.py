"""What a table's readings were read to: the widest grid that holds them all, or as told."""

from collections.abc import Sequence
from math import gcd
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.reference import Reference
from hostctl.report.table_number import MM
from hostctl.report.table_rows import Bad, BadRows, Rows

_FEWEST_TO_INFER = 8  # different readings that show a grid coarser than their decimals
_OFF_GRID = 1e-6  # in resolutions
_SAME_MM = 1e-9  # nearer than this, two readings are one
_FINEST_MM, _COARSEST_MM = 1e-6, 1000.0


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
