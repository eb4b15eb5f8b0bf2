"""Positioning of one axis: repeatability, reversal, accuracy and systematic deviation.

ISO 230-2:2014 clause 3 (from memory). Deviation = position reached less target; each target is
approached several times from below (up) and from above (down). All bands are at k = 2.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why

Floats: TypeAlias = NDArray[np.float64]
Approaches: TypeAlias = Sequence[Sequence[float]]

STANDARD_RUNS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """One direction of approach, in the unit given; one entry a target.

    repeatability: max of 4 s. systematic: span of the means, E. accuracy: span of mean ± 2 s, A.
    """

    means: tuple[float, ...]
    sds: tuple[float, ...]
    repeatability: float
    systematic: float
    accuracy: float
    runs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BothWays:
    """What the two directions say together.

    reversals: B_i = mean up less mean down, signed; reversal: the largest in size; mean_reversal:
    the mean of the signed ones. repeatabilities: R_i = max(2 s up + 2 s down + |B_i|, 4 s up,
    4 s down). mean_deviation: M, span of the targets' two-way means.
    """

    reversals: tuple[float, ...]
    reversal: float
    mean_reversal: float
    means: tuple[float, ...]
    repeatabilities: tuple[float, ...]
    repeatability: float
    systematic: float
    mean_deviation: float
    accuracy: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisReport:
    """An axis by ISO 230-2. both: absent where it was approached from one side only."""

    up: Direction
    down: Direction | None
    both: BothWays | None
    cautions: tuple[Reason, ...]
    source: str = "ISO 230-2:2014, clause 3 (from memory)"


def judge_axis(
    targets: Sequence[float], up: Approaches, down: Approaches | None = None
) -> AxisReport:
    """Positions reached, one row a target and one entry a run, all in the targets' unit.

    Raises NotEnough for fewer than 2 targets or runs, ragged rows, or values that aren't finite.
    """
    above = _deviations(targets, up, "up")
    rising = _direction(above)
    few = above.shape[1] < STANDARD_RUNS
    cautions = (Reason(Why.FEW_RUNS, runs=above.shape[1], asked=STANDARD_RUNS),)
    if down is None:
        return AxisReport(up=rising, down=None, both=None, cautions=cautions if few else ())
    falling = _direction(_deviations(targets, down, "down"))
    few = few or falling.runs < STANDARD_RUNS
    both = _both_ways(rising, falling)
    return AxisReport(up=rising, down=falling, both=both, cautions=cautions if few else ())


def _deviations(targets: Sequence[float], reached: Approaches, side: str) -> Floats:
    lengths = {len(row) for row in reached}
    if len(targets) < 2 or len(reached) != len(targets):
        raise NotEnough(Reason(Why.TOO_FEW_TARGETS, side=side))
    if len(lengths) != 1 or min(lengths) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_RUNS, side=side))
    table = np.asarray(reached, dtype=np.float64) - np.asarray(targets, dtype=np.float64)[:, None]
    bad = np.argwhere(~np.isfinite(table))
    if len(bad):
        target, run = (int(place) + 1 for place in bad[0])
        raise NotEnough(Reason(Why.RUN_NOT_A_NUMBER, side=side, target=target, run=run))
    return table


def _direction(deviations: Floats) -> Direction:
    means, sds = deviations.mean(axis=1), deviations.std(axis=1, ddof=1)
    return Direction(
        means=_floats(means),
        sds=_floats(sds),
        repeatability=float(4 * sds.max()),
        systematic=float(np.ptp(means)),
        accuracy=float((means + 2 * sds).max() - (means - 2 * sds).min()),
        runs=deviations.shape[1],
    )


def _both_ways(up: Direction, down: Direction) -> BothWays:
    mean_up, mean_down, s_up, s_down = map(np.array, (up.means, down.means, up.sds, down.sds))
    reversals, middle = mean_up - mean_down, (mean_up + mean_down) / 2
    spread = 2 * s_up + 2 * s_down + np.abs(reversals)
    repeatabilities = np.maximum(spread, 4 * np.maximum(s_up, s_down))
    means, bands = np.concatenate([mean_up, mean_down]), 2 * np.concatenate([s_up, s_down])
    return BothWays(
        reversals=_floats(reversals),
        reversal=float(np.abs(reversals).max()),
        mean_reversal=float(reversals.mean()),
        means=_floats(middle),
        repeatabilities=_floats(repeatabilities),
        repeatability=float(repeatabilities.max()),
        systematic=float(np.ptp(means)),
        mean_deviation=float(np.ptp(middle)),
        accuracy=float((means + bands).max() - (means - bands).min()),
    )


def _floats(values: Floats) -> tuple[float, ...]:
    return tuple(float(value) for value in values)
