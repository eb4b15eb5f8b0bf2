"""How touches scatter: without drift, by point, by side, by what else they share."""

from collections.abc import Collection

import numpy as np

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.looping.grid_sums import GridSums
from hostctl.metrology.looping.groups import HomingScatter, group_of, homing_scatter
from hostctl.metrology.looping.order_shows import Stretches, order_shows
from hostctl.metrology.looping.paired import PairedDifference, paired_difference
from hostctl.metrology.rounded.mean import largest_shift, least_sd, mean_of_means
from hostctl.metrology.rounded.rounding import rounded_spread
from hostctl.report.kinds.looping.found.touches import Places, Touches, groups
from hostctl.report.kinds.looping.result import (
    PartFound,
    PointFound,
    ScatterFound,
    SidesFound,
    SpreadFound,
)

SHORTEST_RUN, RUNS = 8, 64
_FINE = 100  # steps of a graduation in which means are counted: as good as points


def spread_found(touches: Touches, without: Collection[int] = ()) -> SpreadFound | None:
    """Of touches in short runs, so that a drift has no time to add to it.

    A loop is cut into some RUNS runs, none shorter than SHORTEST_RUN touches where its levels are
    as long: a drift of ten spreads over the whole loop then adds 0.1 % at most.
    without: places of touches that are left out.  None where no two touches are of a level.
    Raises NotEnough for readings between graduations.
    """
    longest = max(SHORTEST_RUN, -(-len(touches) // RUNS))
    left = np.ones(len(touches), dtype=bool)
    left[list(without)] = False
    runs = [
        touches.value_mm[run]
        for level in (one[left[one]] for one in groups(touches.level))
        if level.size
        for run in np.array_split(level, -(-level.size // longest))
        if run.size > 1
    ]
    if not runs:
        return None
    found = rounded_spread(runs, resolution=touches.resolution_mm)
    return SpreadFound(
        value=found.quoted,
        interval=found.interval,
        n=sum(run.size for run in runs),
        runs=len(runs),
        run_touches=longest,
    )


def points_found(touches: Touches) -> tuple[PointFound, ...]:
    """In the order in which they were first touched."""
    places = sorted(groups(touches.point), key=lambda at: int(at[0]))
    return tuple(_point(touches, at) for at in places)


def part_found(touches: Touches, at: Places, name: str) -> PartFound:
    """Some of them. at: their places."""
    return PartFound(name=name, n=int(at.size), off=_off(touches, at), spread=_pooled(touches, at))


def sides_found(touches: Touches) -> SidesFound | None:
    """None where sides were not tried."""
    left, right = (np.flatnonzero(touches.side == one) for one in (1, 2))
    if not left.size or not right.size:
        return None
    return SidesFound(
        left=int(left.size),
        right=int(right.size),
        left_spread=_pooled(touches, left),
        right_spread=_pooled(touches, right),
        difference=_difference(touches, left, right),
    )


def homing_found(touches: Touches) -> HomingScatter | NotYet | None:
    """What homing adds; None where the axes did not home between touches.

    Points and sides are counted from the graduation next to their means, so that all stay on it.
    """
    segments = groups(touches.homing)
    if len(segments) < 2:
        return None
    step = touches.resolution_mm
    means_mm = touches.value_mm - touches.off_mm
    on_grid = touches.value_mm - step * np.round(means_mm / step)
    return homing_scatter([on_grid[one] for one in segments], resolution=step)


def _point(touches: Touches, at: Places) -> PointFound:
    found = group_of(touches.value_mm[at], resolution=touches.resolution_mm)
    level = max(groups(touches.level[at]), key=len)
    return PointFound(
        point=touches.points[int(touches.point[at[0]])],
        n=found.n,
        height=found.mean,
        spread=_scatter(touches, [at]),
        shows=_shows(touches, at[level]),
    )


def _shows(touches: Touches, at: Places) -> Reason | None:
    """Whether the longest level of a point is one of independent touches."""
    sums, stretches = GridSums(touches.resolution_mm), Stretches()
    for value in touches.value_mm[at].tolist():
        stretches.add(sums.add(value))
    return order_shows(sums, stretches)


def _pooled(touches: Touches, at: Places) -> ScatterFound:
    return _scatter(touches, [at[one] for one in groups(touches.level[at])])


def _scatter(touches: Touches, blocks: list[Places]) -> ScatterFound:
    """Of blocks, each about its own mean."""
    values = [touches.value_mm[block] for block in blocks]
    try:
        found = rounded_spread(values, resolution=touches.resolution_mm)
    except NotEnough as no:
        return ScatterFound(value=NotYet(reason=no.reason), high=None)
    return ScatterFound(value=found.quoted, high=found.interval.high)


def _off(touches: Touches, at: Places) -> Estimate | NotYet:
    """Means of points aren't on the grid, so rounding of a touch is allowed for as in pairs."""
    if at.size < 2:
        return NotYet(reason=Reason(Why.ONE_READING), needs_n=2)
    off_mm, step = touches.off_mm[at].tolist(), touches.resolution_mm
    shift = largest_shift(least_sd(off_mm), step)
    known = mean_of_means(off_mm, step=step / _FINE, shift=shift)
    interval: Interval = known.interval(0.95)
    return Estimate(
        value=float(np.mean(off_mm)),
        interval=interval,
        n=int(at.size),
        how="mean, rounding allowed for",
        source="Student 1908, Biometrika 6, 1-25",
    )


def _difference(touches: Touches, left: Places, right: Places) -> PairedDifference | NotYet:
    """Touches from left and right that follow each other at a point, nothing stopped between."""
    keys = [
        {
            (point, (trial + 1) // 2, halt): at
            for at, point, trial, halt in zip(
                side.tolist(),
                touches.point[side].tolist(),
                touches.trial[side].tolist(),
                touches.halt[side].tolist(),
                strict=True,
            )
        }
        for side in (left, right)
    ]
    both = sorted(keys[0].keys() & keys[1].keys())
    first, second = (touches.value_mm[[of[key] for key in both]] for of in keys)
    return paired_difference(first, second, resolution=touches.resolution_mm)
