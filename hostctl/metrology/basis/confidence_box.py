"""Where a quantity may lie at every confidence at once, and functions of two of them.

A confidence box is a pair of distributions of one unknown number: the upper one gives upper limits
(its 1 - a quantile is wrong in at most a), the lower one lower limits (its a quantile). Where data
are points the two are one, a confidence distribution (T. Schweder and N. L. Hjort, Scandinavian
Journal of Statistics 29, 2002, 309-332); rounding and unknown zeros set them apart (M. S. Balch,
International Journal of Approximate Reasoning 53, 2012, 1003-1019; both from memory).

A limit for a function of two independent quantities is a quantile of that function when each is
drawn from its own box: exact for the ratio of two standard deviations (the F interval), and for a
difference of variances or of means the generalised limit, which errs to the safe side
(S. Weerahandi, J. Amer. Statist. Assoc. 88, 1993, 899-905, from memory).
"""

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise

from hostctl.metrology.basis.distributions import normal_cdf, normal_quantile, probit
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.basis.root_finding import crossing

STEP = 0.25
MESH = tuple(STEP * i for i in range(-18, 19))
"""The standard normal values at whose probabilities a box has its quantiles."""

_SUM = math.fsum(math.exp(-z * z / 2) for z in MESH)
WEIGHTS = tuple(math.exp(-z * z / 2) / _SUM for z in MESH)
"""How much each quantile counts in a mean over the box: the trapezium rule, which gains all its
digits at once on a bell."""

_CHANCES = tuple(map(normal_cdf, MESH))
_FIRST_STEP = 0.25


@dataclass(frozen=True)
class Quantiles:
    """A distribution by its quantiles at MESH, rising; the lowest may be equal, the highest inf."""

    values: tuple[float, ...]

    @cached_property
    def logarithms(self) -> "Quantiles":
        """Of the logarithm, of what isn't negative: straighter between quantiles of a spread."""
        return Quantiles(tuple(math.log(v) if v > 0.0 else -math.inf for v in self.values))

    def below(self, x: float) -> float:
        """The chance of a value of at most x; straight between the quantiles, on a normal scale."""
        return normal_cdf(self.place(x))

    def log_below(self, x: float) -> float:
        """The same of what isn't negative, straight in the logarithm."""
        return self.logarithms.below(math.log(x) if x > 0.0 else -math.inf)

    def place(self, x: float) -> float:
        """x on the standard normal scale; ±inf where it lies beyond all quantiles."""
        values = self.values
        if x < values[0]:
            return -math.inf
        if x >= values[-1]:
            return math.inf
        after = bisect_left(values, x)
        if values[after] == x:
            while values[after + 1] == x:
                after += 1
            return MESH[after]
        low, high = values[after - 1], values[after]
        if math.isinf(low) or math.isinf(high):
            return MESH[after] if math.isinf(low) else MESH[after - 1]
        return MESH[after - 1] + STEP * (x - low) / (high - low)

    def at(self, chance: float) -> float:
        """The quantile, straight between those at MESH; the outermost beyond them."""
        place = (normal_quantile(chance) - MESH[0]) / STEP
        before = min(max(math.floor(place), 0), len(MESH) - 2)
        low, high = self.values[before], self.values[before + 1]
        share = min(max(place - before, 0.0), 1.0)
        return low if share == 0.0 or high == low else low + share * (high - low)


@dataclass(frozen=True)
class ConfidenceBox:
    """upper: whose quantiles are upper limits.  lower: whose quantiles are lower limits."""

    upper: Quantiles
    lower: Quantiles

    @property
    def mirrored(self) -> "ConfidenceBox":
        """The box of the quantity with its sign turned."""
        return ConfidenceBox(
            upper=Quantiles(tuple(-value for value in reversed(self.lower.values))),
            lower=Quantiles(tuple(-value for value in reversed(self.upper.values))),
        )

    def shifted(self, by: float) -> "ConfidenceBox":
        """The box of the quantity and so much more."""
        return ConfidenceBox(
            upper=Quantiles(tuple(value + by for value in self.upper.values)),
            lower=Quantiles(tuple(value + by for value in self.lower.values)),
        )

    def farthest(self, risk: float) -> float:
        """How far from 0 it may lie; either way it lies farther with at most this risk."""
        return max(self.upper.at(1.0 - risk), -self.lower.at(risk), 0.0)

    def interval(self, confidence: float) -> Interval:
        """Both limits, each with half the risk."""
        risk = 0.5 * (1.0 - confidence)
        return Interval(
            low=self.lower.at(risk), high=self.upper.at(1.0 - risk), confidence=confidence
        )

    @cached_property
    def logarithms(self) -> "ConfidenceBox":
        """The box of the logarithm of a quantity that isn't negative."""
        return ConfidenceBox(upper=self.upper.logarithms, lower=self.lower.logarithms)


def chance_difference_above(first: Quantiles, second: Quantiles, limit: float) -> float:
    """The chance that first less second is above `limit`, each drawn by itself."""
    return math.fsum(
        weight * (1.0 - first.below(value + limit))
        for value, weight in zip(second.values, WEIGHTS, strict=True)
    )


def quantile_of(
    chance_above: Callable[[float], float], chance: float, low: float, high: float
) -> float:
    """Where a falling chance of being above comes down to `chance`, between low and high.

    Looked for from halfway on.  low where it is no more even there, high where it is still more.
    """
    wanted = probit(chance)

    def passed(x: float) -> float:
        return wanted - probit(chance_above(x))

    return crossing(passed, low, high, step=_FIRST_STEP, within=1e-7)


def box_of_sum(first: ConfidenceBox, second: ConfidenceBox) -> ConfidenceBox:
    """Of two independent quantities, each drawn by itself."""
    other = second.mirrored
    return ConfidenceBox(
        upper=differences(first.upper, other.lower), lower=differences(first.lower, other.upper)
    )


def thinned(quantiles: Quantiles, every: int) -> list[tuple[float, float]]:
    """Every second or third quantile, with its weight: enough for a mean of what is smooth."""
    pairs = list(zip(quantiles.values, WEIGHTS, strict=True))[::every]
    total = math.fsum(weight for _, weight in pairs)
    return [(value, weight / total) for value, weight in pairs]


def differences(first: Quantiles, second: Quantiles) -> Quantiles:
    """The distribution of first less second, each drawn by itself."""
    drawn = sorted(
        (value - other, weight * share)
        for value, weight in zip(first.values, WEIGHTS, strict=True)
        for other, share in zip(second.values, WEIGHTS, strict=True)
        if not math.isnan(value - other)
    )
    passed = list(accumulate(weight for _, weight in drawn))
    middles = [whole - 0.5 * weight for whole, (_, weight) in zip(passed, drawn, strict=True)]
    return Quantiles(tuple(_drawn_quantile(chance, middles, drawn) for chance in _CHANCES))


def _drawn_quantile(
    chance: float, middles: Sequence[float], drawn: Sequence[tuple[float, float]]
) -> float:
    """Straight between what was drawn; the outermost beyond its ends."""
    after = bisect_left(middles, chance)
    if after in (0, len(middles)):
        return drawn[min(after, len(drawn) - 1)][0]
    low, high = drawn[after - 1][0], drawn[after][0]
    if not math.isfinite(high - low):
        return low
    share = (chance - middles[after - 1]) / (middles[after] - middles[after - 1])
    return low + share * (high - low)


def quantiles_at(places: Sequence[float], values: Sequence[float], beyond: float) -> Quantiles:
    """Quantiles at MESH from rising values and where they lie on the standard normal scale.

    Below the first place quantiles are the first value; above the last they are `beyond`.
    """
    slopes = _monotone_slopes(places, values)
    found = []
    for z in MESH:
        after = bisect_left(places, z)
        if after == 0:
            found.append(values[0])
        elif after == len(places):
            found.append(beyond)
        else:
            found.append(_between(z, places, values, slopes, after))
    return Quantiles(tuple(found))


def _between(
    z: float,
    places: Sequence[float],
    values: Sequence[float],
    slopes: Sequence[float],
    after: int,
) -> float:
    """On the cubic between the place before and the one after."""
    low, high = values[after - 1], values[after]
    if not math.isfinite(high - low):
        return low
    width = places[after] - places[after - 1]
    t = (z - places[after - 1]) / width
    bend = (1.0 - t) * slopes[after - 1] - t * slopes[after]
    even = (1.0 - 2.0 * t) * (high - low) / width
    return low + t * (high - low) + t * (1.0 - t) * width * (bend - even)


def _monotone_slopes(places: Sequence[float], values: Sequence[float]) -> list[float]:
    """Slopes with which a cubic through rising values rises: F. N. Fritsch, J. Butland, SIAM J.
    Sci. Stat. Comput. 5, 1984."""
    steps = [
        (values[i + 1] - values[i]) / (places[i + 1] - places[i])
        if places[i + 1] > places[i] and math.isfinite(values[i + 1] - values[i])
        else 0.0
        for i in range(len(places) - 1)
    ]
    inner = [2.0 * a * b / (a + b) if a > 0.0 and b > 0.0 else 0.0 for a, b in pairwise(steps)]
    return [*steps[:1], *inner, *steps[-1:]] if steps else [0.0]
