"""The spread of readings that were rounded: what an indicator with graduations can and can't tell.

A reading of 0.02 mm on an indicator of 0.01 mm means "between 0.015 and 0.025 mm". Where the
spread is below a graduation or so, formulas for points are wrong by far: their interval at 0.2
graduations never holds the truth. Here sigma is fitted by maximum likelihood to the counts on each
graduation, under a normal law, and its interval is the profile-likelihood one with a cut-off
calibrated to n, the block means averaged over or paid for where there are several
(rounding_limits). All figures are in the unit of the readings.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, assert_never

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet, Readings
from hostctl.metrology.basis.ordinary_spread import spread_estimate
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.reference import Reference, SpreadFreedom, settings_of, spread_freedom
from hostctl.metrology.rounded.bin_counts import BinCounts, count_bins
from hostctl.metrology.rounded.cutoffs import likelihood_power
from hostctl.metrology.rounded.limits import alike_limits, neighbours_limits, spread_limits

Pattern = Literal["alike", "neighbours", "spread"]

_WHY: dict[Pattern, Why] = {
    "alike": Why.ALL_ALIKE,
    "neighbours": Why.TWO_GRADUATIONS,
    "spread": Why.READ_AS_INTERVALS,
}

_LIKELIHOOD = (
    "maximum likelihood on rounded readings, times √(n / f) as an ordinary s has it; "
    "profile interval calibrated to n"
)
_OVER_BLOCKS = (
    "maximum likelihood on rounded readings, averaged over the mean of each block; "
    "interval calibrated to n and the blocks"
)


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

    blocks: readings by block, in one unit; `resolution` in the same, what they were rounded to.
    reference: what each block's readings are relative to. With `first` the zero counts as one more
    setting read as 0 with the same resolution: the indicator was no better zeroed than it is read.
    With `previous` the readings are differences: they are fitted as such, the cut-off allows for
    their correlation, and the result is divided by sqrt(2).
    Blocks with fewer than two settings tell nothing and are left out.
    Raises NotEnough when none is left, or a reading is not a number or off the grid.
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"the confidence is {confidence}, must lie between 0 and 1")
    anchor = None if reference == "datum" else 0.0
    bins = [
        count_bins(settings_of(block, reference), resolution=resolution, anchor=anchor)
        for block in blocks
    ]
    return _spread_of_bins(bins, reference, confidence)


def _spread_of_bins(
    bins: Sequence[BinCounts], reference: Reference, confidence: float
) -> RoundedSpread:
    bins = [block for block in bins if block.n >= 2]
    if not bins:
        raise NotEnough(Reason(Why.NO_TWO_SETTINGS))
    freedom = spread_freedom([block.n for block in bins], reference)
    unit = bins[0].resolution / (math.sqrt(2.0) if reference == "previous" else 1.0)
    pattern = _pattern(bins)
    best, interval = _fit(bins, pattern, freedom, confidence)
    interval = Interval(
        low=interval.low * unit, high=interval.high * unit, confidence=interval.confidence
    )
    squares = sum(block.sum_of_squares for block in bins) * unit * unit / freedom.scale
    ordinary = spread_estimate(squares, freedom, confidence)
    return RoundedSpread(
        n=freedom.settings,
        blocks=len(bins),
        df=freedom.df,
        resolution=bins[0].resolution,
        pattern=pattern,
        interval=interval,
        likelihood=_likelihood(best, pattern, freedom, len(bins), unit, interval),
        sheppard=_sheppard(ordinary, unit),
        ordinary=ordinary,
        why=Reason(_WHY[pattern]),
    )


def _pattern(bins: Sequence[BinCounts]) -> Pattern:
    span = max(block.span for block in bins)
    return "alike" if span == 0 else "neighbours" if span == 1 else "spread"


def _fit(
    bins: Sequence[BinCounts], pattern: Pattern, freedom: SpreadFreedom, confidence: float
) -> tuple[float, Interval]:
    """The likeliest sigma and its interval, in resolutions."""
    match pattern:
        case "alike":
            return 0.0, alike_limits(freedom, len(bins), confidence)
        case "neighbours":
            return 0.0, neighbours_limits(bins, freedom, confidence)
        case "spread":
            return spread_limits(bins, freedom, confidence)
        case never:
            assert_never(never)


def _likelihood(
    best: float,
    pattern: Pattern,
    freedom: SpreadFreedom,
    blocks: int,
    unit: float,
    interval: Interval,
) -> Estimate | NotYet:
    """Sigma, with df as its divisor, so that it meets the ordinary one when wide."""
    if pattern != "spread":
        return NotYet(reason=Reason(_WHY[pattern]))
    return Estimate(
        value=best
        * unit
        * math.sqrt(likelihood_power(freedom, blocks) / (freedom.scale * freedom.df)),
        interval=interval,
        n=freedom.settings,
        how=_LIKELIHOOD if blocks == 1 else _OVER_BLOCKS,
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
