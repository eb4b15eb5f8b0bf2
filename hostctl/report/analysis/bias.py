"""How high methods set in the same hands, and hands by the same method, where a datum is known.

A mean over points has the bed's shape in it, so what was set at a point is held against what was
set there: each point that both have gives one difference of means, and these are the sample. At a
single point it is Welch's test, of the means of blocks where there are several, as readings of a
block share its zero, and else of the readings. numpy is loaded here, and only where there are two.

Rounding to a graduation h shifts the mean of a normal law by h / pi exp(-2 pi^2 s^2 / h^2) at most,
h / 400 where s is h / 2 (the first term of the error's Fourier series; the others are nothing);
where readings may scatter less, by up to h / 2. No interval shows that, so it is allowed for apart.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from math import sqrt
from statistics import fmean

from hostctl.metrology.basis.estimate import NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.significance import holm
from hostctl.metrology.spread.sample import moments
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.comparison import Varied
from hostctl.report.analysis.result.means import Bias, CountedOnce, Difference, MeanStanding
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.sample import Sample

ALPHA = 0.05
_FINEST = 1e-6  # of a graduation: means closer than that differ by the computer's rounding alone


def biases(judged: Sequence[Judged], within_mm: float | None) -> tuple[Bias, ...]:
    """Every comparison there is; methods among themselves are one family, hands another."""
    families: tuple[Varied, ...] = ("method", "operator")
    return tuple(
        bias for varied in families for bias in _adjusted(list(_pairs(judged, varied, within_mm)))
    )


def _pairs(judged: Sequence[Judged], varied: Varied, within_mm: float | None) -> Iterator[Bias]:
    """Their p values not adjusted yet, and their standings still open."""
    fixed = "operator" if varied == "method" else "method"
    for name in dict.fromkeys(getattr(one.sample, fixed) for one in judged):
        mine = [one for one in judged if getattr(one.sample, fixed) == name]
        for one, other in combinations(mine, 2):
            found = _found(one, other, within_mm)
            yield Bias(
                varied=varied,
                fixed=name,
                first=getattr(one.sample, varied),
                second=getattr(other.sample, varied),
                found=found,
                adjusted_p=None,
                shown_within=_shown_within(found),
                standing="cannot tell",
            )


def _adjusted(pairs: Sequence[Bias]) -> Iterator[Bias]:
    known = [pair.found.test.p_value for pair in pairs if isinstance(pair.found, Difference)]
    rest = iter(holm(known))
    for pair in pairs:
        if isinstance(pair.found, NotYet):
            yield pair
        else:
            p = next(rest)
            standing = _standing(pair.found, p, within=pair.shown_within)
            yield replace(pair, adjusted_p=p, standing=standing)


def _shown_within(found: Difference | NotYet) -> bool:
    return (
        isinstance(found, Difference)
        and found.equivalence is not None
        and found.equivalence.equivalent
    )


def _standing(found: Difference, adjusted_p: float, *, within: bool) -> MeanStanding:
    """What the rounding could make is not called a difference."""
    seen = abs(found.estimate.value) > found.rounding_mm
    if adjusted_p > ALPHA or not seen:
        return "alike" if within else "cannot tell"
    return "higher" if found.estimate.value > 0.0 else "lower"


def _found(one: Judged, other: Judged, within_mm: float | None) -> Difference | NotYet:
    from hostctl.metrology.comparison.equivalence import (
        mean_difference,
        mean_equivalence,
        welch_test,
    )

    try:
        unit, samples = _samples(one.sample, other.sample)
        first, second = samples if len(samples) == 2 else (samples[0], 0.0)
        estimate, test = mean_difference(first, second), welch_test(first, second)
        if isinstance(estimate, NotYet) or isinstance(test, NotYet):
            return NotYet(reason=Reason(Withheld.ALL_SAY_THE_SAME, unit=unit))
        shift = sum(
            each.sample.resolution_mm / 2
            for each in (one, other)
            if each.result.rounding_may_shift_mean
        )
        margin = (within_mm or 0.0) - shift
        within = mean_equivalence(first, second, margin, ALPHA) if margin > 0.0 else None
    except NotEnough as why:
        return NotYet(reason=why.reason)
    known = tuple(moments(sample) for sample in samples)
    return Difference(
        unit=unit,
        samples=known,
        estimate=estimate,
        test=test,
        standard_error_mm=known[0].sd / sqrt(known[0].n) if unit == "points" else None,
        rounding_mm=shift,
        equivalence=None if isinstance(within, NotYet) else within,
    )


def _samples(one: Sample, other: Sample) -> tuple[CountedOnce, Sequence[Readings]]:
    """What the test is of: two samples, or one of differences. Raises NotEnough."""
    first, second = _by_point(one), _by_point(other)
    points = [point for point in first if point in second]
    if not points:
        raise NotEnough(Reason(Withheld.NO_COMMON_POINT))
    grain = one.resolution_mm * _FINEST
    if len(points) > 1:
        means = [fmean(map(fmean, first[p])) - fmean(map(fmean, second[p])) for p in points]
        return "points", [[round(mean / grain) * grain for mean in means]]
    blocks = first[points[0]], second[points[0]]
    if max(map(len, blocks)) == 1:
        return "readings", [blocks[0][0], blocks[1][0]]
    if min(map(len, blocks)) == 1:
        raise NotEnough(Reason(Withheld.SINGLE_BLOCK))
    return "blocks", [[round(fmean(b) / grain) * grain for b in sample] for sample in blocks]


def _by_point(sample: Sample) -> dict[str, list[Readings]]:
    found: dict[str, list[Readings]] = {}
    for block in sample.blocks:
        found.setdefault(block.point, []).append(block.values_mm)
    return found
