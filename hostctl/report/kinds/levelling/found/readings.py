"""The heights of a round, worked out again from the readings that its run kept."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import nan

from hostctl.errors import DataError
from hostctl.metrology.geometry.bed import HeightSpread
from hostctl.metrology.levelling.heights import Heights, heights_of
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.kinds.levelling.found.decided import Decided
from hostctl.report.kinds.levelling.found.sums import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """How a run reads a round, as `run/procedures/levelling` has it: all points there, then back,
    and so on; at last the first one once more. sign: -1 where the gauge's number falls as the bed
    comes up, for rounds that do not say it themselves.  hangs_mm: an indicator's plunger that is
    pressed in by less hangs free, and tells no height; None of a probe.
    """

    points: Sequence[str]
    passes: int
    sign: int
    hangs_mm: float | None


def heights_again(decided: Sequence[Decided], source: Sourced, read: Read) -> Iterator[Measured]:
    """Of each round, its scatter known by those before it too.

    Raises NotEnough; DataError where a point that was judged was not read.
    """
    known: HeightSpread | None = None
    for one in decided:
        own = replace(read, sign=one.sign) if one.sign is not None else read
        heights = _heights(one, source, own, known)
        known = heights.scatter if heights.jump is None else None
        yield Measured(heights=heights, repeated=True)


def _heights(decided: Decided, source: Sourced, read: Read, known: HeightSpread | None) -> Heights:
    met = {one.point: (one.x_mm, one.y_mm) for one in decided.heights}
    names = [name for name in read.points if name in met]
    if len(names) < len(met):
        what = f"round {decided.number} was judged by points that its study does not name"
        raise DataError(source.material.name, what, "Level again.")
    values = _values(source.rows, decided.number, read)
    count = len(read.points)
    passes = []
    for number in range(read.passes):
        first = number * count + 1
        order = read.points if number % 2 == 0 else tuple(reversed(read.points))
        of = {name: values.get(first + place, nan) for place, name in enumerate(order)}
        passes.append([of[name] for name in names])
    closing = values.get(count * read.passes + 1) if names[0] == read.points[0] else None
    return heights_of(
        names,
        [met[name][0] for name in names],
        [met[name][1] for name in names],
        passes,
        closing=closing,
        sign=read.sign,
        resolution_mm=source.material.resolution_mm,
        known=known,
    )


def _values(rows: Rows, number: int, read: Read) -> Mapping[int, float]:
    """Of each trial of a round, what counts, as the gauge gave it: the last that was kept of it."""
    block = 2 * number - 1
    of_block = [at for at, group in enumerate(rows.groups) if group.block == block]
    each = zip(rows.group, rows.trial, rows.void, rows.value_mm, strict=True)
    found = {trial: mm for at, trial, void, mm in each if at in of_block and void == COUNTS}
    zero_mm = found.pop(0, 0.0)
    if read.hangs_mm is None:
        return found
    least_mm = read.hangs_mm
    return {trial: mm for trial, mm in found.items() if read.sign * (mm - zero_mm) >= least_mm}
