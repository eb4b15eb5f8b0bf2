"""How high methods set in the same hands, and hands by the same method, where a datum is known.

A mean over points has the bed's shape in it, so what was set at a point is held against what was
set there: each point that both have gives one difference of means, and these are the sample. At a
single point the means of blocks are, where there are several, as readings of a block share its
zero, and else the readings.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from statistics import fmean

from hostctl.metrology.basis.confidence_box import ConfidenceBox, box_of_sum
from hostctl.metrology.basis.estimate import NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.comparison.mean_difference import EXACTLY_ZERO, mean_difference
from hostctl.metrology.rounded.mean import MeanEvidence, largest_shift, mean_of_means
from hostctl.metrology.spread.sample import moments
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.comparison import Varied
from hostctl.report.analysis.result.means import Bias, CountedOnce, Difference, MeanStanding
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Block
from hostctl.report.sources.sample import Sample
from hostctl.report.trueness.found import mean_of, readings_of, ties_apart

ALPHA = 0.05

_Known = tuple[CountedOnce, Sequence[MeanEvidence], Sequence[Readings]]
"""What counts once, what is known of the means, and the samples that it is known from."""


def biases(judged: Sequence[Judged], within_mm: float | None) -> tuple[Bias, ...]:
    """Every comparison there is; methods among themselves are one family, hands another."""
    families: tuple[Varied, ...] = ("method", "operator")
    return tuple(bias for varied in families for bias in _family(judged, varied, within_mm))


def _family(judged: Sequence[Judged], varied: Varied, within_mm: float | None) -> Iterator[Bias]:
    fixed = "operator" if varied == "method" else "method"
    by_fixed: dict[str, list[Judged]] = {}
    for one in judged:
        by_fixed.setdefault(getattr(one.sample, fixed), []).append(one)
    pairs = [(name, *pair) for name, mine in by_fixed.items() for pair in combinations(mine, 2)]
    for name, one, other in pairs:
        found = _found(one, other, within_mm, len(pairs))
        yield Bias(
            varied=varied,
            fixed=name,
            first=getattr(one.sample, varied),
            second=getattr(other.sample, varied),
            compared=len(pairs),
            found=found,
            standing=_standing(found),
        )


def _standing(found: Difference | NotYet) -> MeanStanding:
    if isinstance(found, NotYet):
        return "cannot tell"
    if found.judged.differs:
        return "higher" if found.judged.interval.low > 0.0 else "lower"
    return "alike" if found.judged.within else "cannot tell"


def _found(
    one: Judged, other: Judged, within_mm: float | None, compared: int
) -> Difference | NotYet:
    try:
        unit, means, samples = _known(one, other)
    except NotEnough as why:
        return NotYet(reason=why.reason)
    boxes = [mean.box for mean in means]
    second: ConfidenceBox = boxes[1] if len(boxes) == 2 else EXACTLY_ZERO
    boxes[0], second = _with_ties(one, other, boxes[0], second)
    known = tuple(moments(sample) for sample in samples)
    return Difference(
        unit=unit,
        value=known[0].mean - (known[1].mean if len(known) == 2 else 0.0),
        samples=known,
        shifts_mm=tuple(mean.shift for mean in means),
        judged=mean_difference(boxes[0], second, margin=within_mm, compared=compared, alpha=ALPHA),
    )


def _with_ties(
    one: Judged, other: Judged, first: ConfidenceBox, second: ConfidenceBox
) -> tuple[ConfidenceBox, ConfidenceBox]:
    """A tie that both share drops out of their difference; others are in it."""
    by_point = _by_point(one.sample), _by_point(other.sample)
    points = [point for point in by_point[0] if point in by_point[1]]
    mine, theirs = ([block for point in points for block in of[point]] for of in by_point)
    ties = ties_apart(mine, theirs)
    if ties is None:
        return first, second
    return box_of_sum(first, ties[0]), box_of_sum(second, ties[1])


def _known(one: Judged, other: Judged) -> _Known:
    """Of two means, or of that of differences. Raises NotEnough."""
    first, second = _by_point(one.sample), _by_point(other.sample)
    points = [point for point in first if point in second]
    if not points:
        raise NotEnough(Reason(Withheld.NO_COMMON_POINT))
    if len(points) > 1:
        return _point_by_point(one, other, [(first[point], second[point]) for point in points])
    return _at_one_point(one, other, first[points[0]], second[points[0]])


def _at_one_point(one: Judged, other: Judged, first: list[Block], second: list[Block]) -> _Known:
    """Both means there, by readings or by blocks. Raises NotEnough."""
    here = readings_of(first), readings_of(second)
    single = [len(blocks) == 1 for blocks in here]
    if any(single) and not all(single):
        raise NotEnough(Reason(Withheld.SINGLE_BLOCK))
    means = [
        mean_of(
            blocks,
            resolution_mm=judged.sample.resolution_mm,
            least_sigma_mm=judged.least_sigma_mm,
        )
        for blocks, judged in zip((first, second), (one, other), strict=True)
    ]
    if all(single):
        return "readings", means, [blocks[0] for blocks in here]
    return "blocks", means, [[fmean(block) for block in blocks] for blocks in here]


def _point_by_point(
    one: Judged, other: Judged, of_points: Sequence[tuple[list[Block], list[Block]]]
) -> _Known:
    """The mean of what was set at a point less what was set there, over the points."""
    pairs = [(readings_of(mine), readings_of(theirs)) for mine, theirs in of_points]
    differences = [fmean(map(fmean, mine)) - fmean(map(fmean, theirs)) for mine, theirs in pairs]
    fewest = min(sum(map(len, blocks)) for pair in pairs for blocks in pair)
    shifts = (
        largest_shift(each.least_sigma_mm, each.sample.resolution_mm) for each in (one, other)
    )
    known = mean_of_means(differences, step=one.sample.resolution_mm / fewest, shift=sum(shifts))
    return "points", [known], [differences]


def _by_point(sample: Sample) -> dict[str, list[Block]]:
    found: dict[str, list[Block]] = {}
    for block in sample.blocks:
        found.setdefault(block.point, []).append(block)
    return found
