"""The heights of a round, worked out again from the readings that its run kept."""

from collections.abc import Iterator
from math import nan

from hostctl.errors import DataError
from hostctl.metrology.levelling.heights import heights_of
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.kinds.levelling.found.decided import Decided
from hostctl.report.kinds.levelling.found.sums import Measured


def heights_again(decided: Decided, source: Sourced, sign: int) -> Measured:
    """sign: -1 where the gauge's number falls as the bed comes up.

    Raises DataError where its readings are not of the points that were decided on; NotEnough.
    """
    of = {trial: (point, value_mm) for trial, point, value_mm in _counting(source.rows, decided)}
    names = [of[trial][0] for trial in sorted(of)[: len(decided.heights)]]
    places = {one.point: (one.x_mm, one.y_mm) for one in decided.heights}
    if set(names) != set(places):
        what = f"round {decided.number} was not read at the points that it was judged by"
        raise DataError(source.material.name, what, "Level again.")
    count = len(names)
    passes = [[nan] * count for _ in range(max(max(of) // count, 1))]
    for trial, (point, value_mm) in of.items():
        if trial <= count * len(passes):
            passes[(trial - 1) // count][names.index(point)] = value_mm
    closing = of.get(count * len(passes) + 1)
    heights = heights_of(
        names,
        [places[name][0] for name in names],
        [places[name][1] for name in names],
        passes,
        closing=closing[1] if closing is not None else None,
        sign=sign,
        resolution_mm=source.material.resolution_mm,
    )
    return Measured(heights=heights, repeated=True)


def _counting(rows: Rows, decided: Decided) -> Iterator[tuple[int, str, float]]:
    """Trial, point and value of what counts of a round: the last time that its block was begun."""
    block = 2 * decided.number - 1
    begun = max((group.round for group in rows.groups if group.block == block), default=0)
    for at, trial, void, value_mm in zip(
        rows.group, rows.trial, rows.void, rows.value_mm, strict=True
    ):
        group = rows.groups[at]
        if void == COUNTS and (group.block, group.round) == (block, begun):
            yield trial, group.point, value_mm
