"""Where an axis' own repeatability and reversal may lie, by readings that were rounded.

The figures of ISO 230-2 are what was found in a few runs. Here each has limits for what it would be
in very many: of a repeatability as the largest of several spreads, of a reversal as the largest of
several differences of means. The risk is shared over all that enter (Bonferroni), so the limits
hold whatever each is; five runs make them wide. All in the unit of the readings.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Interval, Readings
from hostctl.metrology.comparison.mean_difference import mean_difference
from hostctl.metrology.rounded.mean import mean_of_readings
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread

Cells = Sequence[Readings]
"""Deviations at each target, from one side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisLimits:
    """spread: one standard deviation for all targets and sides, were it the same everywhere.

    sds_up, sds_down: of each target.  repeatability_up, _down: of the largest of 4 s.
    reversals: of each target; reversal: of the largest of their sizes.  repeatability: of the
    largest R_i.  What needs both sides is None, or empty, with one.
    """

    spread: RoundedSpread
    sds_up: tuple[Interval, ...]
    sds_down: tuple[Interval, ...]
    repeatability_up: Interval | None
    repeatability_down: Interval | None
    reversals: tuple[Interval, ...]
    reversal: Interval | None
    repeatability: Interval | None


def axis_limits(up: Cells, down: Cells, *, resolution: float, risk: float = 0.05) -> AxisLimits:
    """up, down: at the same targets; one of them may be empty. resolution: of the readings.

    Raises NotEnough for fewer than two runs, or a reading off the grid of its own target.
    """
    both = bool(up) and bool(down)
    reversals = _reversals(up, down, resolution, risk) if both else ()
    sds_up = _sds(up, resolution, risk / max(len(up), 1))
    sds_down = _sds(down, resolution, risk / max(len(down), 1))
    return AxisLimits(
        spread=rounded_spread([*up, *down], resolution=resolution, confidence=1.0 - risk),
        sds_up=sds_up,
        sds_down=sds_down,
        repeatability_up=_four_times(sds_up, risk) if up else None,
        repeatability_down=_four_times(sds_down, risk) if down else None,
        reversals=reversals,
        reversal=_largest([_size(one) for one in reversals], risk) if both else None,
        repeatability=_both_ways(up, down, resolution, risk) if both else None,
    )


def _sds(cells: Cells, resolution: float, risk: float) -> tuple[Interval, ...]:
    return tuple(
        rounded_spread([cell], resolution=resolution, confidence=1.0 - risk).interval
        for cell in cells
    )


def _reversals(up: Cells, down: Cells, resolution: float, risk: float) -> tuple[Interval, ...]:
    return tuple(
        mean_difference(
            mean_of_readings(one, resolution=resolution).box,
            mean_of_readings(other, resolution=resolution).box,
            compared=len(up),
            alpha=risk,
        ).interval
        for one, other in zip(up, down, strict=True)
    )


def _both_ways(up: Cells, down: Cells, resolution: float, risk: float) -> Interval:
    """R_i = max(2 s up + 2 s down + |B_i|, 4 s up, 4 s down), a third of the risk on each."""
    third = risk / 3
    rising = _sds(up, resolution, third / len(up))
    falling = _sds(down, resolution, third / len(up))
    sizes = [_size(one) for one in _reversals(up, down, resolution, third)]
    found = [
        Interval(
            low=_r(one.low, other.low, size.low),
            high=_r(one.high, other.high, size.high),
            confidence=1.0 - risk,
        )
        for one, other, size in zip(rising, falling, sizes, strict=True)
    ]
    return _largest(found, risk)


def _r(sd_up: float, sd_down: float, reversal: float) -> float:
    return max(2 * sd_up + 2 * sd_down + reversal, 4 * sd_up, 4 * sd_down)


def _size(of: Interval) -> Interval:
    """Of what may lie on either side of 0."""
    inner = 0.0 if of.low <= 0.0 <= of.high else min(abs(of.low), abs(of.high))
    return Interval(low=inner, high=max(abs(of.low), abs(of.high)), confidence=of.confidence)


def _four_times(sds: Sequence[Interval], risk: float) -> Interval:
    largest = _largest(sds, risk)
    return Interval(low=4 * largest.low, high=4 * largest.high, confidence=1.0 - risk)


def _largest(of: Sequence[Interval], risk: float) -> Interval:
    return Interval(
        low=max(one.low for one in of), high=max(one.high for one in of), confidence=1.0 - risk
    )
