"""Does the reading drift, against time or against the trial's number."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, finite_array
from hostctl.metrology.basis.distributions import normal_quantile, normal_sf
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.ranks import dense_ranks, rises_less_falls
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.oddities.regression import least_squares

_EXACT_TO = 40  # readings, none tied, up to which the exact law is counted out
_PAIRS_OF = 2000  # readings from which all pairs are formed; more are thinned evenly


@dataclass(frozen=True, slots=True, kw_only=True)
class LineTrend:
    """A straight line through the readings: its slope, and whether that is more than chance."""

    slope: Estimate
    p_value: float
    residual_sd: float


def line_trend(
    at: npt.ArrayLike, values: npt.ArrayLike, confidence: float = 0.95
) -> LineTrend | NotYet:
    """Least-squares slope of the readings per unit of `at` (time in s, or the trial's number).

    Supposes independent normal scatter. Raises NotEnough below 3 readings, for lengths that differ
    and where `at` never changes; NotYet where the readings are all alike, as rounding then hides
    any slope. Source: JCGM 100:2008, H.3.
    """
    fit = least_squares(values, at)
    if fit.residual_sd == 0.0 and fit.coefficients[1] == 0.0:
        return NotYet(reason="all readings are alike: the rounding hides any slope")
    return LineTrend(
        slope=fit.coefficient(1, confidence), p_value=fit.p_value(1), residual_sd=fit.residual_sd
    )


def mann_kendall(values: npt.ArrayLike) -> Significance | NotYet:
    """Do readings in their order tend to rise or fall; the statistic is rises less falls.

    Two-sided p: exact for at most 40 readings without ties, else normal with the variance
    corrected for ties and a continuity correction. Supposes nothing about the scatter but that it
    is alike and independent. Raises NotEnough below 4; NotYet where all are alike.
    Source: Mann 1945, Econometrica 13, 245-259; Kendall 1975, Rank Correlation Methods, 4.
    """
    sample = finite_array(values, least=4, what="Mann-Kendall test")
    _, ties = dense_ranks(sample)
    if ties.size == 1:
        return NotYet(reason="all readings are alike: there is no trend to test")
    score = rises_less_falls(sample)
    exact = sample.size <= _EXACT_TO and ties.size == sample.size
    p = _exact_p(score, sample.size) if exact else _normal_p(score, sample.size, ties)
    return Significance(
        statistic=float(score),
        p_value=p,
        df=(),
        n=sample.size,
        how="Mann-Kendall, exact" if exact else "Mann-Kendall, normal, corrected for ties",
        source="Mann 1945; Kendall 1975",
    )


def sen_slope(
    at: npt.ArrayLike, values: npt.ArrayLike, confidence: float = 0.95
) -> Estimate | NotYet:
    """The median slope over all pairs, with an interval from Kendall's statistic.

    Hardly moved by a few wild readings. Above 2000 readings every k-th is used, and `how` says so.
    Pairs at the same `at` are left out. Raises NotEnough below 4 readings or for lengths that
    differ; NotYet where `at` never changes. Source: Sen 1968, JASA 63, 1379-1389.
    """
    x = finite_array(at, least=4, what="Sen's slope")
    y = finite_array(values, least=4, what="Sen's slope")
    if x.size != y.size:
        raise NotEnough("Sen's slope: times and readings differ in number")
    every = math.ceil(x.size / _PAIRS_OF)
    x, y = x[::every], y[::every]
    slopes = _pair_slopes(x, y)
    if not slopes.size:
        return NotYet(reason="all readings were taken at the same time")
    return Estimate(
        value=float(np.median(slopes)),
        interval=_sen_interval(slopes, y, confidence),
        n=y.size,
        how="median slope of all pairs" + (f", every {every}th reading" if every > 1 else ""),
        source="Sen 1968, JASA 63, 1379-1389",
    )


def _pair_slopes(x: Array, y: Array) -> Array:
    early, late = np.triu_indices(x.size, 1)
    run = x[late] - x[early]
    apart = run != 0.0
    slopes: Array = (y[late] - y[early])[apart] / run[apart]
    slopes.sort()
    return slopes


def _sen_interval(slopes: Array, y: Array, confidence: float) -> Interval:
    _, ties = dense_ranks(y)
    reach = normal_quantile((1.0 + confidence) / 2.0) * math.sqrt(_score_variance(y.size, ties))
    low = math.floor((slopes.size - reach) / 2.0) - 1
    high = math.ceil((slopes.size + reach) / 2.0)
    return Interval(
        low=float(slopes[low]) if low >= 0 else -math.inf,
        high=float(slopes[high]) if high < slopes.size else math.inf,
        confidence=confidence,
    )


def _score_variance(n: int, ties: npt.NDArray[np.int64]) -> float:
    sizes = ties.astype(np.float64)
    tied = float(np.sum(sizes * (sizes - 1.0) * (2.0 * sizes + 5.0)))
    return (n * (n - 1.0) * (2.0 * n + 5.0) - tied) / 18.0


def _normal_p(score: int, n: int, ties: npt.NDArray[np.int64]) -> float:
    z = max(0.0, abs(score) - 1.0) / math.sqrt(_score_variance(n, ties))
    return min(1.0, 2.0 * normal_sf(z))


def _exact_p(score: int, n: int) -> float:
    """Share of the n! orders with at least as extreme a score: orders by number of falls."""
    pairs = n * (n - 1) // 2
    fewest = (pairs - abs(score)) // 2
    counts = _orders_by_falls(n)
    return min(1.0, 2.0 * (sum(counts[: fewest + 1]) / math.factorial(n)))


@lru_cache(maxsize=64)
def _orders_by_falls(n: int) -> tuple[int, ...]:
    counts = [1]
    for size in range(2, n + 1):
        longer = [0] * (len(counts) + size - 1)
        for falls, orders in enumerate(counts):
            for more in range(size):
                longer[falls + more] += orders
        counts = longer
    return tuple(counts)
