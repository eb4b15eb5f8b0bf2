"""Where sigma may lie, in resolutions, from readings counted on each graduation.

The convention is a profile-likelihood interval with its cut-off calibrated to n
(rounding_cutoffs), and a one-sided upper bound where all readings are alike. That is right for
many graduations.

Over several blocks the profile with a mean each, and nothing paid for them, is too sure and too
low. There the best sigma and the lower limit come from the likelihood averaged over the means
(rounding_marginal), which is fair to means anywhere in a graduation; the upper limit from the
profile charged one degree of freedom a mean, since an indicator zeroed in each block keeps the
means near the middle of a graduation, where the average would be too sure of a small spread. From
one resolution up the two are alike. Well below one, blocks that all have their mean at an edge look
like a larger spread to the average: there the profile with nothing paid may lower the lower limit.

Short samples on few graduations need two corrections, for so few different samples can occur that a
limit hits or misses by lumps of chance (all checked in tests/data/coverage_table.md):

1. Readings on two neighbouring graduations: the upper bound is stretched until samples so narrow
   come no more often than the chance to miss leaves room for. One block has to leave room for the
   misses above the truth, and as much again for samples on three graduations that look as narrow.
   Above one resolution, and with several blocks, all splits get that bound at least.
2. From one resolution up, and below the bound of correction 1 (so only for n up to 8), hardly any
   sample is narrow enough to rule sigma out from above. What is left of the chance to miss goes to
   the lower limit, or the interval would be far too sure there.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

from hostctl.metrology.basis.distributions import chi_square_quantile, normal_quantile
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.basis.reference import SpreadFreedom
from hostctl.metrology.rounded.bin_counts import BinCounts
from hostctl.metrology.rounded.cutoffs import (
    chance_above,
    likelihood_power,
    one_sided_cut_off,
    two_sided_cut_off,
)
from hostctl.metrology.rounded.likelihood import (
    Likelihood,
    SpreadLikelihood,
    tau_at_deviance,
    top_of,
)
from hostctl.metrology.rounded.marginal import MarginalLikelihood
from hostctl.metrology.rounded.narrow_samples import chance_within, two_graduation_bound

# Above so many resolutions, with no reading very far out, binning only adds h^2 / 12 to the
# variance, to ten digits: the next term is (h / sigma)^4 / 288.
_WIDE = 50.0
# Below so many resolutions the limits have to allow for means that all lie at an edge.
_PLACE_MATTERS = 0.45
# The share of the chance to miss that correction 1 keeps however little the rest leaves: with very
# many readings the misses above alone would come to half of it.
_LEAST_LEFT = 0.1
# The share of the chance to miss that correction 2 hands out; the rest pays for its lumps.
_SPENT = 0.9


def alike_limits(freedom: SpreadFreedom, blocks: int, confidence: float) -> Interval:
    """The one-sided bound for readings that are all alike, block by block."""
    return Interval(low=0.0, high=_alike_bound(freedom, blocks, confidence), confidence=confidence)


def neighbours_limits(
    bins: Sequence[BinCounts], freedom: SpreadFreedom, confidence: float
) -> Interval:
    """The bound for readings that fall, block by block, on two neighbouring graduations at most."""
    deviance = two_sided_cut_off(freedom, confidence, len(bins)).deviance
    sizes = tuple(block.n for block in bins)
    exact = two_graduation_bound(sizes, _room_for_narrow(freedom, sizes, confidence))
    if len(bins) > 1:
        high = max(exact, _charged_high(bins, deviance, (exact, 1.5 * exact)))
    else:
        stretch = max(1.0, exact / _even_split_bound(sizes[0], deviance))
        high = stretch * neighbours_bound(bins[0], deviance)
        high = max(high, exact) if exact > 1.0 else high
    return Interval(low=0.0, high=high, confidence=confidence)


def spread_limits(
    bins: Sequence[BinCounts], freedom: SpreadFreedom, confidence: float
) -> tuple[float, Interval]:
    """The likeliest sigma, and its limits, for readings over three graduations or more."""
    cut_off = two_sided_cut_off(freedom, confidence, len(bins))
    squares = sum(block.sum_of_squares for block in bins)
    mean_square = squares / likelihood_power(freedom, len(bins))
    best, low, high = (
        math.sqrt(max(mean_square / ratio - 1.0 / 12.0, 0.04))
        for ratio in (1.0, cut_off.high_ratio, cut_off.low_ratio)
    )
    if _is_wide(bins, mean_square):
        return best, Interval(low=low, high=high, confidence=confidence)
    likelihood: Likelihood
    if len(bins) > 1:
        likelihood = MarginalLikelihood(bins)
        high = _charged_high(bins, cut_off.deviance, (best, high))
        best, low = _best_and_low(likelihood, cut_off.deviance, (best, low))
        if low < _PLACE_MATTERS:
            profile = SpreadLikelihood(bins)
            low = min(low, _best_and_low(profile, cut_off.deviance, (best, low))[1])
    else:
        likelihood = SpreadLikelihood(bins)
        best, low, high = profile_limits(likelihood, cut_off.deviance, (best, low, high))
    sizes = tuple(block.n for block in bins)
    low = _raised_low(likelihood, freedom, sizes, confidence, (best, low))
    return best, Interval(low=low, high=high, confidence=confidence)


def profile_limits(
    likelihood: Likelihood, deviance: float, guesses: tuple[float, float, float]
) -> tuple[float, float, float]:
    """The likeliest sigma, and those below and above it at a given deviance, from guesses."""
    best, low, high = guesses
    peak = top_of(likelihood, 1.0 / best)
    return (
        1.0 / peak[0],
        _low_at(likelihood, peak, deviance, low),
        _high_at(likelihood, peak, deviance, high),
    )


def _best_and_low(
    likelihood: Likelihood, deviance: float, guesses: tuple[float, float]
) -> tuple[float, float]:
    best, low = guesses
    peak = top_of(likelihood, 1.0 / best)
    return 1.0 / peak[0], _low_at(likelihood, peak, deviance, low)


def _charged_high(
    bins: Sequence[BinCounts], deviance: float, guesses: tuple[float, float]
) -> float:
    """The upper limit where each block's mean is charged one degree of freedom."""
    best, high = guesses
    likelihood = SpreadLikelihood(bins, paid=len(bins))
    return _high_at(likelihood, top_of(likelihood, 1.0 / best), deviance, high)


def _low_at(
    likelihood: Likelihood, peak: tuple[float, float], deviance: float, guess: float
) -> float:
    """The sigma below the peak's (tau and top, as `top_of` gives them) at that deviance."""
    tau, top = peak
    start = 1.0 / guess if guess * tau < 1.0 else 1.01 * tau
    return 1.0 / tau_at_deviance(likelihood, top, deviance, start, above=tau)


def _high_at(
    likelihood: Likelihood, peak: tuple[float, float], deviance: float, guess: float
) -> float:
    tau, top = peak
    start = 1.0 / guess if guess * tau > 1.0 else tau / 1.01
    return 1.0 / tau_at_deviance(likelihood, top, deviance, start, below=tau)


def neighbours_bound(block: BinCounts, deviance: float) -> float:
    """As sigma goes to 0 the mean sits on the shared edge: the likelihood is that of a coin."""
    top = sum(count * math.log(count / block.n) for count in block.counts)
    guess = 1.0 / (_bound_at(deviance / block.n) + 0.5)
    return 1.0 / tau_at_deviance(SpreadLikelihood([block]), top, deviance, guess)


def _alike_bound(freedom: SpreadFreedom, blocks: int, confidence: float) -> float:
    """Readings that are all alike are likeliest amid a graduation: chance exp(-deviance / 2).

    One block takes the convention's deviance. Several, or differences, which do lie there, get at
    least the bound at which that chance is what may be missed; correlation makes n differences
    count for fewer.
    """
    amid = -2.0 * math.log(1.0 - confidence)
    if freedom.about_zero:
        amid *= freedom.readings / (freedom.df + blocks)
    if blocks > 1:
        return _bound_at(amid / freedom.readings)
    deviance = one_sided_cut_off(freedom, confidence)
    return _bound_at((max(deviance, amid) if freedom.about_zero else deviance) / freedom.readings)


def _bound_at(deviance_each: float) -> float:
    """The sigma at which one graduation, the mean amid it, gives each reading that deviance."""
    return 0.5 / normal_quantile(0.5 + 0.5 * math.exp(-0.5 * deviance_each))


def _room_for_narrow(freedom: SpreadFreedom, sizes: tuple[int, ...], confidence: float) -> float:
    """The chance with which readings may fall on two graduations at the bound of correction 1."""
    missed = 1.0 - confidence
    if len(sizes) > 1:
        return missed
    return max(missed - 2.0 * chance_above(freedom, confidence), _LEAST_LEFT * missed)


@lru_cache(maxsize=1024)
def _even_split_bound(n: int, deviance: float) -> float:
    even = BinCounts(resolution=1.0, centre=0.0, graduations=(0, 1), counts=(n // 2, n - n // 2))
    return neighbours_bound(even, deviance)


def _is_wide(bins: Sequence[BinCounts], mean_square: float) -> bool:
    return mean_square > _WIDE**2 and max(block.span for block in bins) < 0.5 * mean_square


def _raised_low(
    likelihood: Likelihood,
    freedom: SpreadFreedom,
    sizes: tuple[int, ...],
    confidence: float,
    best_and_low: tuple[float, float],
) -> float:
    """The lower limit after correction 2."""
    best, low = best_and_low
    room = _room_for_narrow(freedom, sizes, confidence)
    if best <= 1.0 or chance_within(2, sizes, 1.0) <= room:
        return low
    alike = _alike_bound(freedom, len(sizes), confidence)
    power = likelihood_power(freedom, len(sizes))
    top = likelihood.at(1.0 / best).value

    def is_ruled_out(sigma: float) -> bool:
        missed_above = chance_within(1, sizes, sigma) if sigma > alike else 0.0
        left = _SPENT * (1.0 - confidence) - missed_above
        deviance = 2.0 * (top - likelihood.at(1.0 / sigma).value)
        return left > 0.0 and deviance > _high_side_deviance(freedom, power, left)

    first = max(1.0, low)
    last = min(best, two_graduation_bound(sizes, room))
    return _edge(is_ruled_out, first, last) if first < last and is_ruled_out(first) else low


def _high_side_deviance(freedom: SpreadFreedom, power: int, missed: float) -> float:
    """The deviance that samples this wide or wider pass with the chance `missed`."""
    ratio = freedom.scale * chi_square_quantile(1.0 - missed, freedom.df) / power
    return power * (ratio - 1.0 - math.log(ratio)) if ratio > 1.0 else 0.0


def _edge(is_ruled_out: Callable[[float], bool], first: float, last: float) -> float:
    while last - first > 1e-9 * last:
        middle = 0.5 * (first + last)
        first, last = (middle, last) if is_ruled_out(middle) else (first, middle)
    return last
