"""The spread of readings that were rounded: what an indicator with graduations can and can't tell.

A reading of 0.02 mm on an indicator of 0.01 mm means "between 0.015 and 0.025 mm". Where the
spread is below a graduation or so, formulas for points are wrong by far: their interval at 0.2
graduations never holds the truth. Here sigma comes from the likelihood of the counts on each
graduation, under a normal law, and its limits hold wherever in a graduation the means lie
(`evidence`). All figures are in the unit of the readings.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet, Readings
from hostctl.metrology.basis.ordinary_spread import spread_estimate
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.law.bin_counts import count_bins
from hostctl.metrology.rounded.risks import shared_risks

Pattern = Literal["alike", "neighbours", "spread"]

_WHY: dict[Pattern, Why] = {
    "alike": Why.ALL_ALIKE,
    "neighbours": Why.TWO_GRADUATIONS,
    "spread": Why.READ_AS_INTERVALS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundedSpread:
    """The standard deviation of one setting, from rounded readings, by every way that is fair.

    pattern: `alike` when each block's readings all fall on one graduation, `neighbours` when on
    two side by side, else `spread`.  interval: where sigma may lie, always given; its low end is 0
    unless the pattern is `spread`, and for `alike` it is an upper bound, one-sided.
    likelihood, sheppard, ordinary: sigma fitted to the intervals; the ordinary figure less the
    variance of rounding; and the ordinary figure with its chi-square interval.
    quoted: the one to report, and `why`.
    """

    n: int
    blocks: int
    df: float
    resolution: float
    pattern: Pattern
    interval: Interval
    likelihood: Estimate | NotYet
    sheppard: Estimate | NotYet
    ordinary: Estimate
    why: Reason

    @property
    def quoted(self) -> Estimate | NotYet:
        """The figure to report beside the interval."""
        return self.likelihood

    @property
    def one_sided(self) -> bool:
        """Whether the interval is an upper bound at its whole confidence."""
        return self.pattern == "alike"


def rounded_spread(
    blocks: Sequence[Readings],
    *,
    resolution: float,
    reference: Reference = "datum",
    confidence: float = 0.95,
) -> RoundedSpread:
    """The spread of settings common to some blocks, each with a mean of its own.

    Arguments and errors as in `spread_evidence`.
    """
    evidence = spread_evidence(blocks, resolution=resolution, reference=reference)
    return spread_from(evidence, confidence)


def spread_evidence(
    blocks: Sequence[Readings], *, resolution: float, reference: Reference = "datum"
) -> SpreadEvidence:
    """What some blocks, each with a mean of its own, say of the spread common to them.

    blocks: readings by block, in one unit; `resolution` in the same, what they were rounded to.
    reference: what each block's readings are relative to. With `first` the zero counts as one more
    setting read as 0 with the same resolution: the indicator was no better zeroed than it is read.
    With `previous` the readings are differences: they are fitted as such, their law allows for
    their correlation, and the result is divided by sqrt(2).
    Blocks with fewer than two settings tell nothing and are left out.
    Raises NotEnough when none is left, or a reading is not a number or off the grid.
    """
    anchor = None if reference == "datum" else 0.0
    bins = [
        count_bins(settings_of(block, reference), resolution=resolution, anchor=anchor)
        for block in blocks
    ]
    bins = [block for block in bins if block.n >= 2]
    if not bins:
        raise NotEnough(Reason(Why.NO_TWO_SETTINGS))
    return SpreadEvidence(bins, reference)


def spread_from(evidence: SpreadEvidence, confidence: float) -> RoundedSpread:
    """The spread with its interval at this confidence."""
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"the confidence is {confidence}, must lie between 0 and 1")
    freedom, unit = evidence.freedom, evidence.unit
    pattern = _pattern(evidence)
    interval = _interval(evidence, pattern, confidence)
    squares = evidence.sum_of_squares * unit * unit / freedom.scale
    ordinary = spread_estimate(squares, freedom, confidence)
    return RoundedSpread(
        n=freedom.settings,
        blocks=len(evidence.blocks),
        df=freedom.df,
        resolution=evidence.blocks[0].resolution,
        pattern=pattern,
        interval=interval,
        likelihood=_likelihood(evidence, pattern, interval),
        sheppard=_sheppard(ordinary, unit),
        ordinary=ordinary,
        why=Reason(_WHY[pattern]),
    )


def _pattern(evidence: SpreadEvidence) -> Pattern:
    return "alike" if evidence.span == 0 else "neighbours" if evidence.span == 1 else "spread"


def _interval(evidence: SpreadEvidence, pattern: Pattern, confidence: float) -> Interval:
    if pattern == "alike":
        return Interval(low=0.0, high=evidence.upper(1.0 - confidence), confidence=confidence)
    risks = shared_risks(evidence.freedom, confidence, len(evidence.blocks))
    return Interval(
        low=0.0 if pattern == "neighbours" else evidence.lower(risks.lower),
        high=evidence.upper(risks.upper),
        confidence=confidence,
    )


def _likelihood(
    evidence: SpreadEvidence, pattern: Pattern, interval: Interval
) -> Estimate | NotYet:
    if pattern != "spread":
        return NotYet(reason=Reason(_WHY[pattern]))
    return Estimate(
        value=evidence.likeliest,
        interval=interval,
        n=evidence.freedom.settings,
        how="likelihood of rounded readings, averaged over each block's mean; limits by its score "
        "at the worst place of the means",
        source="G. Kulldorff, Estimation from Grouped and Partially Grouped Samples, 1961",
    )


def _sheppard(ordinary: Estimate, unit: float) -> Estimate | NotYet:
    """The ordinary figure less the variance of rounding, h^2 / 12.

    Fair from one resolution up: there the error left is about exp(-2 pi^2 (sigma / h)^2).
    """
    if ordinary.value < unit:
        return NotYet(reason=Reason(Why.TOO_NARROW_FOR_SHEPPARD))
    value, low, high = (
        math.sqrt(max(figure * figure - unit * unit / 12.0, 0.0))
        for figure in (ordinary.value, ordinary.low, ordinary.high)
    )
    return Estimate(
        value=value,
        interval=Interval(low=low, high=high, confidence=ordinary.interval.confidence),
        n=ordinary.n,
        how="ordinary standard deviation less the variance of rounding",
        source="W. F. Sheppard, Proc. London Math. Soc. 29, 1898",
    )
