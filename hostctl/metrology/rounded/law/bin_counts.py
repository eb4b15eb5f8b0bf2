"""Readings as counts on the grid of their resolution: all that a rounding-aware analysis needs."""

import math
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import NotEnough, Readings, finite_sample, is_array
from hostctl.metrology.basis.reason import Reason, Why

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# How far off the grid, in resolutions, a decimal that was typed and parsed may seem to lie.
_OFF_GRID = 1e-6
_CHUNK = 32_768


@dataclass(frozen=True, kw_only=True)
class BinCounts:
    """How many readings fell on each graduation, the empty ones left out.

    centre: the reading that graduation number 0 stands for; it lies amid the sample, so numbers
    stay small.  graduations: ascending, in resolutions from the centre.  counts: one for each.
    """

    resolution: float
    centre: float
    graduations: tuple[int, ...]
    counts: tuple[int, ...]

    @cached_property
    def n(self) -> int:
        """How many readings."""
        return sum(self.counts)

    @property
    def span(self) -> int:
        """Graduations from the lowest reading to the highest; 0 when all are alike."""
        return self.graduations[-1] - self.graduations[0]

    @cached_property
    def mean_graduation(self) -> float:
        """The mean, in graduations from the centre."""
        return sum(k * c for k, c in zip(self.graduations, self.counts, strict=True)) / self.n

    @cached_property
    def sum_of_squares(self) -> float:
        """Sum of squared deviations from the mean, in squared resolutions; whole numbers inside."""
        pairs = list(zip(self.graduations, self.counts, strict=True))
        total = sum(k * c for k, c in pairs)
        return (sum(k * k * c for k, c in pairs) * self.n - total * total) / self.n


def count_bins(readings: Readings, *, resolution: float, anchor: float | None = None) -> BinCounts:
    """Count the readings on each graduation.

    readings: in any one unit, `resolution` in the same.  anchor: a value on the grid, the first
    reading when left out: a grid need not pass through zero.
    Raises NotEnough for no readings, one that is not a number, or one between two graduations;
    ValueError for a resolution not above 0.
    """
    if not (resolution > 0.0 and math.isfinite(resolution)):
        raise ValueError(f"the resolution is {resolution}, must be above 0")
    if len(readings) == 0:
        raise NotEnough(Reason(Why.NO_READINGS))
    start = float(readings[0]) if anchor is None else anchor
    if is_array(readings):
        counts = _count_array(readings, resolution, start)
    else:
        counts = _count_numbers(readings, resolution, start)
    if counts is None:
        raise NotEnough(_off_grid(readings, resolution, start))
    middle = sorted(counts)[len(counts) // 2]
    graduations = sorted(counts)
    return BinCounts(
        resolution=resolution,
        centre=start + middle * resolution,
        graduations=tuple(k - middle for k in graduations),
        counts=tuple(counts[k] for k in graduations),
    )


def _tolerance(largest: float) -> float:
    return _OFF_GRID + 4e-16 * largest


def _count_numbers(readings: Readings, resolution: float, start: float) -> Counter[int] | None:
    counts: Counter[int] = Counter()
    for reading in readings:
        at = (reading - start) / resolution
        if not abs(at) < 2.0**52:
            return None
        nearest = round(at)
        largest = max(abs(reading), abs(start)) / resolution
        if abs(at - nearest) > _tolerance(largest):
            return None
        counts[nearest] += 1
    return counts


def _count_array(
    readings: "NDArray[np.float64]", resolution: float, start: float
) -> Counter[int] | None:
    """The same for an array, a cache-sized piece at a time."""
    import numpy as np

    graduations, counts = [], []
    for first in range(0, len(readings), _CHUNK):
        piece = np.asarray(readings[first : first + _CHUNK], dtype=float)
        with np.errstate(invalid="ignore", over="ignore"):
            at = (piece - start) * (1.0 / resolution)
            nearest = np.rint(at)
            at -= nearest
        low, high = float(nearest.min()), float(nearest.max())
        off = max(float(at.max()), -float(at.min()))
        largest = max(abs(low), abs(high)) + 2.0 * abs(start) / resolution
        if not (off <= _tolerance(largest) and largest < 2.0**52):
            return None
        found = _tally(nearest, low, high)
        graduations.append(found[0])
        counts.append(found[1])
    places, which = np.unique(np.concatenate(graduations), return_inverse=True)
    totals = np.bincount(which, weights=np.concatenate(counts)).astype(np.int64)
    return Counter(dict(zip(places.tolist(), totals.tolist(), strict=True)))


def _tally(
    nearest: "NDArray[np.float64]", low: float, high: float
) -> tuple["NDArray[np.int64]", "NDArray[np.int64]"]:
    """The graduations that occur in a piece, and how often each does."""
    import numpy as np

    if high - low > 4 * _CHUNK:
        values, tally = np.unique(nearest, return_counts=True)
        return values.astype(np.int64), tally
    tally = np.bincount((nearest - low).astype(np.intp))
    occupied = np.flatnonzero(tally)
    return occupied + int(low), tally[occupied]


def _off_grid(readings: Readings, resolution: float, start: float) -> Reason:
    """Names the first reading that could not be counted."""
    for index, reading in enumerate(finite_sample(readings, least=1, what="readings")):
        at = (reading - start) / resolution
        largest = max(abs(reading), abs(start)) / resolution
        if abs(at) >= 2.0**52 or abs(at - round(at)) > _tolerance(largest):
            return Reason(
                Why.OFF_GRID, place=index + 1, value=reading, resolution=resolution, start=start
            )
    return Reason(Why.TOO_FAR_FOR_GRID, resolution=resolution)
