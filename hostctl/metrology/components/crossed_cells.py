"""A crossed study's rows boiled down to its cells: count, mean and scatter of each part x operator.

All that an analysis of variance needs is in the cells. The rows are read once, in pieces that stay
in the processor's cache, so a million rows cost little more than adding them up.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why

Codes = npt.NDArray[np.int64]

_PIECE = 32768
_MOST_CELLS = 1_000_000
_ROUNDING = 1e-12
_CANCELLED = 1e-4  # scatter within cells, as a share of all, below which a second pass is due


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedCells:
    """Per part (rows) and operator (columns): count, mean less `centre`; and the scatter within."""

    counts: Codes
    means: Array
    centre: float
    within_ss: float

    @property
    def n(self) -> int:
        """Readings in all."""
        return int(self.counts.sum())

    @property
    def trials(self) -> int | None:
        """Trials a cell where all cells have as many, else None."""
        first = int(self.counts.flat[0])
        return first if first > 0 and bool(np.all(self.counts == first)) else None


def label_codes(labels: Sequence[Hashable]) -> tuple[Codes, list[Hashable]]:
    """Labels as numbers from 0 in order of appearance, and the labels in that order."""
    known = dict.fromkeys(labels)
    number = {label: place for place, label in enumerate(known)}
    return np.fromiter((number[label] for label in labels), np.int64, len(labels)), list(known)


def crossed_cells(
    parts: npt.NDArray[np.integer], operators: npt.NDArray[np.integer], values: npt.ArrayLike
) -> CrossedCells:
    """Boil rows down to cells. parts, operators: each row's number, from 0.

    Raises NotEnough for no rows, negative numbers, or a value that is not a number; ValueError for
    lengths that differ.
    """
    y = np.asarray(values, dtype=np.float64).reshape(-1)
    shape = _checked_shape(parts, operators, y)
    centre = float(y.mean())
    if not np.isfinite(centre):
        raise NotEnough(Reason(Why.ROW_NOT_A_NUMBER, row=_first_bad(y) + 1))
    size = shape[0] * shape[1]
    counts, sums, total_ss = np.zeros(size, np.int64), np.zeros(size), 0.0
    room = np.empty(min(_PIECE, y.size))
    for piece in _pieces(y.size):
        cell = _cell_numbers(parts, operators, piece, shape[1])
        away = np.subtract(y[piece], centre, out=room[: cell.size])
        counts += np.bincount(cell, minlength=size)
        sums += np.bincount(cell, weights=away, minlength=size)
        total_ss += float(np.add.reduce(np.square(away, out=away)))
    means = np.divide(sums, counts, out=np.zeros(size), where=counts > 0)
    within = total_ss - float(np.sum(counts * means * means))
    if within < _CANCELLED * total_ss:
        within = _within_again(parts, operators, y - centre, means, shape[1])
    return CrossedCells(
        counts=counts.reshape(shape), means=means.reshape(shape), centre=centre, within_ss=within
    )


def _checked_shape(
    parts: npt.NDArray[np.integer], operators: npt.NDArray[np.integer], y: Array
) -> tuple[int, int]:
    if not parts.size == operators.size == y.size:
        raise ValueError("crossed study: parts, operators and readings differ in number")
    if not y.size:
        raise NotEnough(Reason(Why.NO_READINGS))
    # read as unsigned, a number below 0 is a huge one: one pass finds both ends
    highest = [int(np.asarray(c, np.int64).view(np.uint64).max()) for c in (parts, operators)]
    parts_and_operators = highest[0] + 1, highest[1] + 1
    if parts_and_operators[0] * parts_and_operators[1] > _MOST_CELLS:
        raise NotEnough(Reason(Why.TOO_MANY_CELLS, most=_MOST_CELLS))
    return parts_and_operators


def _first_bad(y: Array) -> int:
    bad = np.flatnonzero(~np.isfinite(y))
    if not bad.size:
        raise NotEnough(Reason(Why.READINGS_TOO_LARGE))
    return int(bad[0])


def _pieces(n: int) -> list[slice]:
    return [slice(start, start + _PIECE) for start in range(0, n, _PIECE)]


def _cell_numbers(
    parts: npt.NDArray[np.integer],
    operators: npt.NDArray[np.integer],
    piece: slice,
    n_operators: int,
) -> Codes:
    cell: Codes = np.multiply(parts[piece], n_operators, dtype=np.int64)
    cell += operators[piece]
    return cell


def _within_again(
    parts: npt.NDArray[np.integer],
    operators: npt.NDArray[np.integer],
    away: Array,
    means: Array,
    n_operators: int,
) -> float:
    """The scatter about each cell's own mean, where subtracting two near totals would cancel."""
    total = 0.0
    for piece in _pieces(away.size):
        rest = away[piece] - means[_cell_numbers(parts, operators, piece, n_operators)]
        total += float(np.add.reduce(rest * rest))
    # what is left of readings that repeat exactly is rounding, not scatter
    seen = total > away.size * (_ROUNDING * float(np.abs(away).max())) ** 2
    return total if seen else 0.0
