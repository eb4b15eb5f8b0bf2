"""Intervals for sums and differences of mean squares: the modified large-sample method.

A variance component is a combination of independent mean squares, each chi-square over its degrees
of freedom. The exact interval is known only for one of them; for combinations Graybill and Wang
(1980, JASA 75, 869-873) for sums and Ting, Burdick, Graybill, Jeyaratnam, Lu (1990, Journal of
Statistical Computation and Simulation 35, 135-143) for differences give closed forms whose coverage
stays close to what is stated for any degrees of freedom.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from hostctl.metrology.basis.distributions import chi_square_quantile, f_quantile
from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSquare:
    """A sample variance and its degrees of freedom, with the factor it enters a sum by."""

    value: float
    df: float
    factor: float = 1.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.value >= 0.0):
            raise NotEnough(Reason(Why.NO_MEAN_SQUARE, value=self.value))
        if not self.df > 0.0:
            raise ValueError(f"a mean square has {self.df} degrees of freedom, must be above 0")

    @property
    def part(self) -> float:
        """What it adds to the sum."""
        return self.factor * self.value

    def shortfall(self, tail: float) -> float:
        """Share of the value that the truth may lie below it, one-sided."""
        return 1.0 - 1.0 / _chi_square_over_df(1.0 - tail, self.df)

    def excess(self, tail: float) -> float:
        """Share of the value that the truth may lie above it, one-sided."""
        return 1.0 / _chi_square_over_df(tail, self.df) - 1.0


def sum_interval(terms: Sequence[MeanSquare], confidence: float = 0.95) -> Interval:
    """Where a sum of variances may lie; every factor positive. Graybill and Wang 1980."""
    tail = (1.0 - confidence) / 2.0
    total = math.fsum(term.part for term in terms)
    below = math.hypot(*(term.shortfall(tail) * term.part for term in terms))
    above = math.hypot(*(term.excess(tail) * term.part for term in terms))
    return Interval(low=max(0.0, total - below), high=total + above, confidence=confidence)


def difference_interval(
    plus: MeanSquare, minus: MeanSquare, confidence: float = 0.95
) -> tuple[float, float]:
    """Where `plus - minus` may lie, not yet floored at zero.

    The lower end is above zero exactly where the F test of plus against minus is significant at
    (1 - confidence) / 2, one-sided. Ting et al. 1990.
    """
    tail = (1.0 - confidence) / 2.0
    estimate = plus.part - minus.part
    below = _difference_reach(
        plus,
        minus,
        plus.shortfall(tail),
        minus.excess(tail),
        f_quantile(1.0 - tail, plus.df, minus.df),
    )
    above = _difference_reach(
        plus,
        minus,
        plus.excess(tail),
        minus.shortfall(tail),
        f_quantile(tail, plus.df, minus.df),
    )
    return estimate - below, estimate + above


def component_interval(plus: MeanSquare, minus: MeanSquare, confidence: float = 0.95) -> Interval:
    """Where `plus - minus` may lie, known to be zero or more.

    The lower end is floored at zero. Where plus came out below minus, the upper end is that of
    equal mean squares: a lucky draw then claims no more certainty than an even one.
    """
    low, high = difference_interval(plus, minus, confidence)
    if plus.part < minus.part:
        even = MeanSquare(value=minus.part, df=plus.df)
        high = difference_interval(even, minus, confidence)[1]
    return Interval(low=max(0.0, low), high=high, confidence=confidence)


def _difference_reach(
    plus: MeanSquare, minus: MeanSquare, plus_share: float, minus_share: float, f: float
) -> float:
    """The cross term makes the limit exact where the difference is exactly zero."""
    cross = ((f - 1.0) ** 2 - (plus_share * f) ** 2 - minus_share**2) / f
    squared = (
        (plus_share * plus.part) ** 2
        + (minus_share * minus.part) ** 2
        + cross * plus.part * minus.part
    )
    return math.sqrt(max(0.0, squared))


@lru_cache(maxsize=256)
def _chi_square_over_df(p: float, df: float) -> float:
    """Kept, since the same lines enter several components."""
    return chi_square_quantile(p, df) / df
