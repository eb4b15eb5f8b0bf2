"""Means compared: Welch's test and interval, and two one-sided tests of equivalence."""

import math
from dataclasses import dataclass

import numpy.typing as npt

from hostctl.metrology.basis.centred import exact_mean, finite_array, variance
from hostctl.metrology.basis.distributions import student_t_quantile, student_t_sf
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Equivalence, Significance

_SOURCES = {
    "Welch": "Welch 1947, Biometrika 34, 28-35",
    "Student": "Student 1908, Biometrika 6, 1-25",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Difference:
    whose: str  # the test and its interval
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
            how=f"difference of means, {self.whose}",
            source=_SOURCES[self.whose],
        )


def mean_difference(
    first: npt.ArrayLike, second: npt.ArrayLike | float, confidence: float = 0.95
) -> Estimate | NotYet:
    """Mean of first less mean of second; spreads may differ. Same unit.

    second: readings, or one number that is known exactly (0 where first are differences of pairs).
    Bias between methods is known only where both have the reference `datum`. Raises NotEnough
    below 2 readings; NotYet where both samples are all alike. Source: Welch 1947; Student 1908.
    """
    found = _difference(first, second)
    return found if isinstance(found, NotYet) else found.estimate(confidence)


def welch_test(first: npt.ArrayLike, second: npt.ArrayLike | float) -> Significance | NotYet:
    """Welch's two-sided t test of two means, Student's where `second` is one number.

    Errors as `mean_difference`.
    """
    found = _difference(first, second)
    if isinstance(found, NotYet):
        return found
    t = found.difference / found.se
    return Significance(
        statistic=t,
        p_value=min(1.0, 2.0 * student_t_sf(abs(t), found.df)),
        df=(found.df,),
        n=found.n,
        how=f"{found.whose}'s t test, two-sided",
        source=_SOURCES[found.whose],
    )


def mean_equivalence(
    first: npt.ArrayLike, second: npt.ArrayLike | float, margin: float, alpha: float = 0.05
) -> Equivalence | NotYet:
    """Two one-sided t tests, as `welch_test`: do the means differ by less than `margin`.

    Raises ValueError for a margin not above 0, NotEnough below 2 readings; NotYet where both
    samples are all alike. Source: Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657-680.
    """
    if not margin > 0.0:
        raise ValueError(f"equivalence of means: the margin is {margin}, must be above 0")
    found = _difference(first, second)
    if isinstance(found, NotYet):
        return found
    return Equivalence(
        difference=found.estimate(1.0 - 2.0 * alpha),
        low=-margin,
        high=margin,
        p_low=student_t_sf((found.difference + margin) / found.se, found.df),
        p_high=student_t_sf((margin - found.difference) / found.se, found.df),
        alpha=alpha,
    )


def bias(values: npt.ArrayLike, truth: float, confidence: float = 0.95) -> Estimate | NotYet:
    """Mean of readings against a datum less its true value, with the t interval.

    Raises NotEnough below 2 readings; NotYet where all are alike, as rounding then hides the
    scatter. Source: ISO 5725-4:2020, 4.
    """
    one = _difference(values, truth)
    if isinstance(one, NotYet):
        return one
    return Estimate(
        value=one.difference,
        interval=one.interval(confidence),
        n=one.n,
        how="mean less datum, t interval",
        source="ISO 5725-4:2020, 4",
    )


def _difference(first: npt.ArrayLike, second: npt.ArrayLike | float) -> _Difference | NotYet:
    truth = float(second) if isinstance(second, float | int) else None
    samples = [
        finite_array(sample, least=2, what="difference of means")
        for sample in ((first, second) if truth is None else (first,))
    ]
    shares = [variance(s) / s.size for s in samples]
    if sum(shares) == 0.0:
        return NotYet(reason=Reason(Why.SCATTER_HIDDEN))
    weights = [share**2 / (s.size - 1) for share, s in zip(shares, samples, strict=True)]
    return _Difference(
        whose="Welch" if truth is None else "Student",
        difference=exact_mean(samples[0]) - (exact_mean(samples[1]) if truth is None else truth),
        se=math.sqrt(sum(shares)),
        df=sum(shares) ** 2 / sum(weights),
        n=sum(s.size for s in samples),
    )
