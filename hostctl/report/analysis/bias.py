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
from dataclasses import dataclass, replace
from itertools import combinations
from statistics import fmean
from typing import TYPE_CHECKING, Literal

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.significance import Significance, holm
from hostctl.metrology.spread.sample import Moments, moments
from hostctl.report.analysis.judgement import Result
from hostctl.report.document.reasons import Withheld

if TYPE_CHECKING:
    from hostctl.metrology.comparison.equivalence import Equivalence

ALPHA = 0.05
_FINEST = 1e-6  # of a graduation: means closer than that differ by the computer's rounding alone

Unit = Literal["points", "blocks", "readings"]
Varied = Literal["method", "operator"]
Standing = Literal["higher", "lower", "alike", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Mean of the first less mean of the second, mm. unit: what counts once in the test.

    samples: those of both, or for points the one of their differences.  rounding_mm: how far the
    rounding may shift it.  equivalence: whether they are, even so, surely within the tolerance of
    each other; None where none is named, or none is left.
    """

    unit: Unit
    samples: tuple[Moments, ...]
    estimate: Estimate
    test: Significance
    rounding_mm: float
    equivalence: "Equivalence | None"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """Two mean settings. varied: what differs; fixed: what both share.

    adjusted_p: allowing for there being several comparisons of its kind (Holm).
    """

    varied: Varied
    fixed: str
    first: str
    second: str
    found: Difference | NotYet
    adjusted_p: float | None

    @property
    def surely_within(self) -> bool:
        """Whether the difference is surely smaller than the tolerance."""
        found = self.found
        return (
            isinstance(found, Difference)
            and found.equivalence is not None
            and found.equivalence.equivalent
        )

    @property
    def standing(self) -> Standing:
        """How high the first sets, the second being the measure."""
        if isinstance(self.found, NotYet) or self.adjusted_p is None:
            return "cannot tell"
        seen = abs(self.found.estimate.value) > self.found.rounding_mm
        if self.adjusted_p > ALPHA or not seen:
            return "alike" if self.surely_within else "cannot tell"
        return "higher" if self.found.estimate.value > 0.0 else "lower"


def biases(
    results: Sequence[Result], resolution_mm: float, within_mm: float | None
) -> tuple[Bias, ...]:
    """Every comparison there is; methods among themselves are one family, hands another."""
    return tuple(
        bias
        for varied in ("method", "operator")
        for bias in _adjusted(list(_pairs(results, varied, resolution_mm, within_mm)))
    )


def may_hide(result: Result, resolution_mm: float) -> bool:
    """Whether its readings may scatter so little that rounding shifts their mean."""
    spread = result.spread
    return isinstance(spread, NotYet) or spread.interval.low < resolution_mm / 2


def _pairs(
    results: Sequence[Result], varied: Varied, resolution_mm: float, within_mm: float | None
) -> Iterator[Bias]:
    fixed = "operator" if varied == "method" else "method"
    for name in dict.fromkeys(getattr(result, fixed) for result in results):
        mine = [result for result in results if getattr(result, fixed) == name]
        for one, other in combinations(mine, 2):
            yield Bias(
                varied=varied,
                fixed=name,
                first=getattr(one, varied),
                second=getattr(other, varied),
                found=_found(one, other, resolution_mm, within_mm),
                adjusted_p=None,
            )


def _adjusted(pairs: Sequence[Bias]) -> Iterator[Bias]:
    known = [pair.found.test.p_value for pair in pairs if isinstance(pair.found, Difference)]
    rest = iter(holm(known))
    for pair in pairs:
        told = isinstance(pair.found, Difference)
        yield replace(pair, adjusted_p=next(rest)) if told else pair


def _found(
    one: Result, other: Result, resolution_mm: float, within_mm: float | None
) -> Difference | NotYet:
    from hostctl.metrology.comparison.equivalence import (
        mean_difference,
        mean_equivalence,
        welch_test,
    )

    try:
        unit, samples = _samples(one, other, resolution_mm)
        first, second = samples if len(samples) == 2 else (samples[0], 0.0)
        estimate, test = mean_difference(first, second), welch_test(first, second)
        if isinstance(estimate, NotYet) or isinstance(test, NotYet):
            return NotYet(reason=Reason(Withheld.ALL_SAY_THE_SAME, unit=unit))
        shift = sum(resolution_mm / 2 for result in (one, other) if may_hide(result, resolution_mm))
        margin = (within_mm or 0.0) - shift
        within = mean_equivalence(first, second, margin, ALPHA) if margin > 0.0 else None
    except NotEnough as why:
        return NotYet(reason=why.reason)
    return Difference(
        unit=unit,
        samples=tuple(moments(sample) for sample in samples),
        estimate=estimate,
        test=test,
        rounding_mm=shift,
        equivalence=None if isinstance(within, NotYet) else within,
    )


def _samples(one: Result, other: Result, resolution_mm: float) -> tuple[Unit, Sequence[Readings]]:
    """What the test is of: two samples, or one of differences. Raises NotEnough."""
    first, second = _by_point(one), _by_point(other)
    points = [point for point in first if point in second]
    if not points:
        raise NotEnough(Reason(Withheld.NO_COMMON_POINT))
    grain = resolution_mm * _FINEST
    if len(points) > 1:
        means = [fmean(map(fmean, first[p])) - fmean(map(fmean, second[p])) for p in points]
        return "points", [[round(mean / grain) * grain for mean in means]]
    blocks = first[points[0]], second[points[0]]
    if max(map(len, blocks)) == 1:
        return "readings", [blocks[0][0], blocks[1][0]]
    if min(map(len, blocks)) == 1:
        raise NotEnough(Reason(Withheld.SINGLE_BLOCK))
    return "blocks", [[round(fmean(b) / grain) * grain for b in sample] for sample in blocks]


def _by_point(result: Result) -> dict[str, list[Readings]]:
    found: dict[str, list[Readings]] = {}
    for block in result.blocks:
        found.setdefault(block.point, []).append(block.values_mm)
    return found
