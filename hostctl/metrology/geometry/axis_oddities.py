"""What is odd in the positions of an axis test: one far off, passes that move together, a target
at which less moved than was ordered. Nothing is left out by it.

A pass is one run from one side, over all targets. All in the unit of the deviations.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.distributions import chi_square_quantile, f_sf

FAR = 5.0
"""So many times the spread, and so many resolutions, is far off (choice ours)."""
RISK = 0.01
"""Of saying that passes move together where they do not."""
LEAST_STEPS = 3.0
Floats = NDArray[np.float64]
Side = Sequence[Sequence[float]]
"""Deviations, a row a target, an entry a run; empty where no target was come to from there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FarOff:
    """A position far from the median of its target and side. rising: its side.  target, run: from
    0.  off: by so much.  spread: a standard deviation by the median of all targets' variances.
    """

    rising: bool
    target: int
    run: int
    off: float
    spread: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Passes scatter as wholes. spread: of a pass.  rest: of one position beside that.  p: by the F
    test of passes against the rest, of rows and columns without repetition.
    """

    spread: float
    rest: float
    p: float


def far_off(up: Side, down: Side, resolution: float) -> tuple[FarOff, ...]:
    """Beyond FAR spreads and FAR resolutions from its median."""
    cells = [np.asarray(row) for side in (up, down) for row in side]
    df = float(len(cells[0]) - 1)
    variance = float(np.median([np.var(cell, ddof=1) for cell in cells]))
    spread = float(np.sqrt(variance * df / chi_square_quantile(0.5, df)))
    return tuple(
        FarOff(rising=rising, target=target, run=run, off=off, spread=spread)
        for side, rising in ((up, True), (down, False))
        for target, row in enumerate(side)
        for run, off in enumerate(np.asarray(row) - np.median(row))
        if abs(off) > FAR * max(spread, resolution)
    )


def passes_together(up: Side, down: Side, resolution: float) -> Together | None:
    """None where it does not show at RISK. What is left counts as at least what rounding leaves."""
    sides = [np.asarray(side) for side in (up, down) if side]
    targets, runs = sides[0].shape
    df = float(len(sides) * (runs - 1))
    away = [side - side.mean(axis=1, keepdims=True) for side in sides]
    means = [side.mean(axis=0) for side in away]
    of_passes = targets * sum(float(np.sum(mean**2)) for mean in means) / df
    left = sum(float(np.sum((side - mean) ** 2)) for side, mean in zip(away, means, strict=True))
    rest = max(left / (df * (targets - 1)), resolution**2 / 12.0)
    p = f_sf(of_passes / rest, df, df * (targets - 1))
    if p >= RISK or of_passes <= rest:
        return None
    spread = float(np.sqrt((of_passes - rest) / targets))
    return Together(spread=spread, rest=float(np.sqrt(rest)), p=p)


def moves_less(up: Side, down: Side, resolution: float) -> float | None:
    """By how much less it moved to the last target than was ordered, or 0 where all was alike
    there while it scattered at each other target; None: neither.

    Less by more than LEAST_STEPS resolutions and FAR spreads, beyond what any other step is off.
    """
    means = np.mean([np.asarray(side).mean(axis=1) for side in (up, down) if side], axis=0)
    steps = np.diff(means)
    cells = np.concatenate([np.asarray(side) for side in (up, down) if side])
    spread = float(np.sqrt(np.median(np.var(cells, axis=1, ddof=1))))
    others = float(np.max(np.abs(steps[:-1]), initial=0.0))
    if -steps[-1] > max(LEAST_STEPS * resolution, FAR * spread) + others:
        return float(-steps[-1])
    return 0.0 if _all_alike_only_there(list(_spans(up, down)), resolution) else None


def _spans(up: Side, down: Side) -> Iterator[float]:
    """From the lowest to the highest at each target, from both sides."""
    for each in zip(*(side for side in (up, down) if side), strict=True):
        together = np.concatenate([np.asarray(row) for row in each])
        yield float(np.ptp(together))


def _all_alike_only_there(spans: Sequence[float], resolution: float) -> bool:
    *others, last = spans
    return last < resolution / 2.0 and min(others) > 1.5 * resolution
