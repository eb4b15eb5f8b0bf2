"""Means compared: Welch's test and interval, and two one-sided tests of equivalence."""

import math
from dataclasses import dataclass

import numpy.typing as npt

from hostctl.metrology.centred import exact_mean, finite_array, variance
from hostctl.metrology.distributions import student_t_quantile, student_t_sf
from hostctl.metrology.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.significance import Significance

_WELCH = "Welch 1947, Biometrika 34, 28-35"


@dataclass(frozen=True, slots=True, kw_only=True)
class Equivalence:
    """Is a difference (or a ratio) surely between two bounds.

    `difference`: the estimate with its interval at 1 - 2 alpha. `p_low`, `p_high`: that it lies
    at or beyond the low, the high bound. Both must be at most alpha.
    """

    difference: Estimate
    low: float
    high: float
    p_low: float
    p_high: float
    alpha: float

    @property
    def p_value(self) -> float:
        """The larger of the two."""
        return max(self.p_low, self.p_high)

    @property
    def equivalent(self) -> bool:
        """Whether the data show equivalence; False says only that they don't show it."""
        return self.p_value <= self.alpha


@dataclass(frozen=True, slots=True, kw_only=True)
class _Welch:
    difference: float
    se: float
    df: float
    n: int

    def interval(self, confidence: float) -> Interval:
        reach = self.se * student_t_quantile((1.0 + confidence) / 2.0, self.df)
        return Interval(
            low=self.difference - reach, high=self.difference + reach, confidence=confidence
        )

    def estimate(self, confidence: float) -> Estimate:
        return Estimate(
            value=self.difference,
            interval=self.interval(confidence),
            n=self.n,
            how="difference of means, Welch",
            source=_WELCH,
        )


def mean_difference(
    first: npt.ArrayLike, second: npt.ArrayLike, confidence: float = 0.95
) -> Estimate | NotYet:
    """Mean of first less mean of second; spreads may differ. Same unit.

    Bias between methods is known only where both have the reference `datum`. Raises NotEnough
    below 2 readings; NotYet where both samples are all alike. Source: Welch 1947.
    """
    welch = _welch(first, second)
    return welch if isinstance(welch, NotYet) else welch.estimate(confidence)


def welch_test(first: npt.ArrayLike, second: npt.ArrayLike) -> Significance | NotYet:
    """Welch's two-sided t test of two means. Errors as `mean_difference`."""
    welch = _welch(first, second)
    if isinstance(welch, NotYet):
        return welch
    t = welch.difference / welch.se
    return Significance(
        statistic=t,
        p_value=min(1.0, 2.0 * student_t_sf(abs(t), welch.df)),
        df=(welch.df,),
        n=welch.n,
        how="Welch's t test, two-sided",
        source=_WELCH,
    )


def mean_equivalence(
    first: npt.ArrayLike, second: npt.ArrayLike, margin: float, alpha: float = 0.05
) -> Equivalence | NotYet:
    """Two one-sided Welch tests: do the means differ by less than `margin` (same unit).

    Raises NotEnough for a margin not above 0 and below 2 readings; NotYet where both samples are
    all alike. Source: Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657-680.
    """
    if not margin > 0.0:
        raise NotEnough(f"equivalence of means: the margin is {margin}, must be above 0")
    welch = _welch(first, second)
    if isinstance(welch, NotYet):
        return welch
    return Equivalence(
        difference=welch.estimate(1.0 - 2.0 * alpha),
        low=-margin,
        high=margin,
        p_low=student_t_sf((welch.difference + margin) / welch.se, welch.df),
        p_high=student_t_sf((margin - welch.difference) / welch.se, welch.df),
        alpha=alpha,
    )


def bias(values: npt.ArrayLike, truth: float, confidence: float = 0.95) -> Estimate | NotYet:
    """Mean of readings against a datum less its true value, with the t interval.

    Raises NotEnough below 2 readings; NotYet where all are alike, as rounding then hides the
    scatter. Source: ISO 5725-4:2020, 4.
    """
    sample = finite_array(values, least=2, what="bias")
    if sample.min() == sample.max():
        return NotYet(reason="all readings are alike: the rounding hides how sure the mean is")
    one = _Welch(
        difference=exact_mean(sample) - truth,
        se=math.sqrt(variance(sample) / sample.size),
        df=sample.size - 1,
        n=sample.size,
    )
    return Estimate(
        value=one.difference,
        interval=one.interval(confidence),
        n=one.n,
        how="mean less datum, t interval",
        source="ISO 5725-4:2020, 4",
    )


def _welch(first: npt.ArrayLike, second: npt.ArrayLike) -> _Welch | NotYet:
    samples = [finite_array(s, least=2, what="difference of means") for s in (first, second)]
    shares = [variance(s) / s.size for s in samples]
    if sum(shares) == 0.0:
        return NotYet(reason="all readings are alike in both: the rounding hides the scatter")
    weights = [share**2 / (s.size - 1) for share, s in zip(shares, samples, strict=True)]
    return _Welch(
        difference=exact_mean(samples[0]) - exact_mean(samples[1]),
        se=math.sqrt(sum(shares)),
        df=sum(shares) ** 2 / sum(weights),
        n=samples[0].size + samples[1].size,
    )
