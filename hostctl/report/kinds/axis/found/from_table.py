"""An axis test of positions that somebody measured: a table with a row a position."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.report.document.reasons import error_words
from hostctl.report.kinds.axis.found.sums import Told, axis_result
from hostctl.report.kinds.axis.result import AxisResult
from hostctl.report.sources.tables.number import MM, Cell, head_and_unit, read_cell
from hostctl.report.sources.tables.text import read_table

COLUMNS = {
    "target": ("target",),
    "side": ("side", "direction"),
    "reached": ("reached", "actual", "position"),
    "run": ("run",),
}
NEEDED = ("target", "side", "reached")
UP, DOWN = ("up", "below", "+", "↑"), ("down", "above", "-", "−", "↓")
_GIVE = "Give a table with columns target_mm, side (up or down) and reached_mm, a row a position."
_MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class _Column:
    """Where it stands, and the unit of its plain numbers."""

    place: int
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One position. run: what the table calls it, empty where it does not."""

    line: int
    target_mm: float
    rising: bool
    reached_mm: float
    run: str


def axis_of_table(
    path: Path, *, resolution_mm: float | None = None, calibrated_u_mm: float | None = None
) -> AxisResult:
    """Positions from a table with columns target_mm, side and reached_mm; other units may be named.

    A column of runs says which belong together; else they follow each other. resolution_mm: left
    out, as finely as positions are written.  calibrated_u_mm: standard uncertainty of what measured
    them; None: not calibrated, so accuracy is not said.  Raises DataError.
    """
    rows, finest_mm = _rows(path)
    targets_mm = sorted({row.target_mm for row in rows})
    up, down = (_reached(path, rows, targets_mm, rising=rising) for rising in (True, False))
    told = Told(
        name=path.name,
        title=path.name,
        machine=None,
        point=None,
        relative=False,
        calibrated_u_mm=calibrated_u_mm,
        left_out=0,
        complete=True,
        notes=(),
    )
    try:
        return axis_result(told, targets_mm, up, down, resolution_mm or finest_mm)
    except NotEnough as why:
        raise DataError(str(path), error_words(why), _GIVE) from why


def _rows(path: Path) -> tuple[list[_Row], float]:
    """Every position, and the last decimal as written, mm."""
    lines = read_table(path, NEEDED).lines
    first = next(lines, None)
    if first is None:
        raise DataError(str(path), "is empty", _GIVE)
    columns = _columns(path, first[1])
    found, finest = [], 0
    for line, row in lines:
        where = f"{path}:{line}"
        reached_mm, decimals = _mm(where, row, columns, "reached")
        found.append(
            _Row(
                line=line,
                target_mm=round(_mm(where, row, columns, "target")[0], 9),
                rising=_is_rising(where, _cell(row, columns, "side")),
                reached_mm=reached_mm,
                run=_cell(row, columns, "run"),
            )
        )
        finest = max(finest, decimals)
        if len(found) > _MOST_ROWS:
            raise DataError(str(path), f"has more than {_MOST_ROWS} positions", "Give fewer.")
    if not found:
        raise DataError(str(path), "holds no position", _GIVE)
    return found, MM[columns["reached"].unit] / 10**finest


def _reached(
    path: Path, rows: Sequence[_Row], targets_mm: Sequence[float], *, rising: bool
) -> list[list[float]]:
    """One row a target, from one side; empty where no target was come to from there.

    Raises DataError where targets have different numbers of runs, or one run has one twice.
    """
    found: dict[float, list[_Row]] = defaultdict(list)
    for row in rows:
        if row.rising is rising:
            found[row.target_mm].append(row)
    if not found:
        return []
    counts = {target_mm: len(found[target_mm]) for target_mm in targets_mm}
    if len(set(counts.values())) > 1:
        few_mm = min(counts, key=counts.__getitem__)
        side = "up" if rising else "down"
        what = f"target {few_mm:g} mm has {counts[few_mm]} positions {side}, others have more"
        raise DataError(str(path), what, "Give each target as often from that side.")
    for each in found.values():
        _check_runs(path, each)
    return [[row.reached_mm for row in found[target_mm]] for target_mm in targets_mm]


def _check_runs(path: Path, rows: Sequence[_Row]) -> None:
    named = [row.run for row in rows if row.run]
    if len(set(named)) < len(named):
        where = f"{path}:{rows[-1].line}"
        what = f"target {rows[-1].target_mm:g} mm stands twice in one run from one side"
        raise DataError(where, what, "Correct the column of runs, or take it out.")


def _is_rising(where: str, side: str) -> bool:
    if side.casefold() in UP:
        return True
    if side.casefold() in DOWN:
        return False
    raise DataError(where, f"side: {side[:20]!r} is neither up nor down", "Correct the row.")


def _columns(path: Path, heads: Sequence[str]) -> Mapping[str, _Column]:
    """Raises DataError where one is missing."""
    plain = [head_and_unit(head) for head in heads]
    found = dict(_found(plain))
    missing = [role for role in NEEDED if role not in found]
    if missing:
        what = f"has no column for {' and '.join(missing)} among: {', '.join(heads)[:80]}"
        raise DataError(str(path), what, _GIVE)
    return found


def _found(heads: Sequence[tuple[str, str | None]]) -> Iterator[tuple[str, _Column]]:
    for role, names in COLUMNS.items():
        for place, (name, unit) in enumerate(heads):
            if name in names:
                yield role, _Column(place, unit or "mm")
                break


def _cell(row: Sequence[str], columns: Mapping[str, _Column], role: str) -> str:
    column = columns.get(role)
    return row[column.place].strip() if column and column.place < len(row) else ""


def _mm(
    where: str, row: Sequence[str], columns: Mapping[str, _Column], role: str
) -> tuple[float, int]:
    """A length, and its decimals as written. Raises DataError."""
    cell = read_cell(_cell(row, columns, role))
    if not isinstance(cell, Cell):
        said = cell.replace("no reading", "nothing stands there")
        raise DataError(where, f"{role}: {said}", "Correct the row, or take it out.")
    return cell.value * MM[cell.unit or columns[role].unit], cell.decimals
