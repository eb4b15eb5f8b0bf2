"""The mean of rounded readings: where it may lie, wherever in a graduation that is.

Readings all on one graduation say that the mean lies on it, and no more; their own standard
deviation of 0 would say that it is known to the last digit. So the limits come from the likelihood
of rounded readings: D(m), twice the fall of the log-likelihood from its top to the best it can be
at the mean m, is turned into Student's t by what they have in common where readings are points,

    D = n log(1 + t^2 / (n - 1)),

and the limits are widened by half a step of the mean, h / (2 n), as means of n readings come in
steps (the correction for continuity). tests/data/promises.md has how well the 95 % interval then
covers: at least 94.5 % in each cell. From WIDE graduations up it is Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from hostctl.metrology.basis.confidence_box import ConfidenceBox, Quantiles
from hostctl.metrology.basis.distributions import (
    chi_square_quantile,
    student_t_quantile,
)
from hostctl.metrology.basis.estimate import Interval, NotEnough, Readings
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.student_box import student_box
from hostctl.metrology.rounded.law.bin_counts import BinCounts, count_bins
from hostctl.metrology.rounded.law.score import WIDE
from hostctl.metrology.rounded.likelihood import Top, highest, highest_at
from hostctl.metrology.rounded.limits_by_t import LimitsByT, t_of_fall


@dataclass(frozen=True)
class MeanEvidence:
    """What at least two readings say of their mean.

    shift: how far, in the unit of the readings, it may lie off for all of them alike.
    """

    bins: BinCounts
    shift: float = 0.0

    @property
    def value(self) -> float:
        """The mean of the readings."""
        return self.bins.centre + self.bins.resolution * self.bins.mean_graduation

    def upper(self, risk: float) -> float:
        """The limit that is too low with at most this risk, below a half."""
        return self._value_at(self._limit(risk, 1.0) + self._allowed)

    def lower(self, risk: float) -> float:
        """The limit that is too high with at most this risk, below a half."""
        return self._value_at(self._limit(risk, -1.0) - self._allowed)

    def interval(self, confidence: float) -> Interval:
        """Both limits, each with half the risk."""
        risk = 0.5 * (1.0 - confidence)
        return Interval(low=self.lower(risk), high=self.upper(risk), confidence=confidence)

    @cached_property
    def box(self) -> ConfidenceBox:
        """The limits at every risk."""
        if self._points:
            known = student_box(self.bins.mean_graduation, self._error, self.bins.n - 1)
        else:
            known = self._limits.box()
        return ConfidenceBox(
            upper=self._shifted(known.upper, self._allowed),
            lower=self._shifted(known.lower, -self._allowed),
        )

    def _shifted(self, graduations: Quantiles, shift: float) -> Quantiles:
        return Quantiles(tuple(self._value_at(value + shift) for value in graduations.values))

    def _value_at(self, graduation: float) -> float:
        return self.bins.centre + self.bins.resolution * graduation

    @property
    def _allowed(self) -> float:
        """How much wider than the likelihood has it a limit is, in graduations."""
        half_step = 0.0 if self._points else 0.5 / self.bins.n
        return half_step + self.shift / self.bins.resolution

    @property
    def _points(self) -> bool:
        """Whether readings are so wide apart that they are as good as points."""
        return self._error * math.sqrt(self.bins.n) >= WIDE

    @property
    def _error(self) -> float:
        """The standard error of the mean were readings points, in graduations."""
        return math.sqrt(self.bins.sum_of_squares / (self.bins.n - 1) / self.bins.n)

    @cached_property
    def _top(self) -> Top:
        return highest(self.bins)

    @cached_property
    def _best(self) -> tuple[float, float]:
        """From where to where the likeliest mean may lie."""
        half = 0.5 if self.bins.span == 0 else 0.0
        return self._top.mean - half, self._top.mean + half

    def _t(self, away: float, side: float) -> float:
        """Student's t of the mean that lies so far to one side of the likeliest."""
        best = self._best[1] if side > 0.0 else self._best[0]
        if away == 0.0 and self.bins.span and side * (best - self.bins.mean_graduation) <= 0.0:
            return 0.0  # an edge counts as beyond it only where most readings lie on the near side
        return t_of_fall(self._top.value - highest_at(self.bins, best + side * away), self.bins.n)

    @cached_property
    def _limits(self) -> LimitsByT:
        """In graduations, without the half step."""
        low, high = self._best
        return LimitsByT(self.bins.n - 1, low, high, self._error, self._t)

    def _limit(self, risk: float, side: float) -> float:
        if not self._points:
            return self._limits.limit(risk, side)
        wanted = student_t_quantile(1.0 - risk, self.bins.n - 1)
        return self.bins.mean_graduation + side * wanted * self._error


def mean_of_readings(readings: Readings, *, resolution: float) -> MeanEvidence:
    """What one block of readings against a datum says of their mean.

    readings: in one unit, `resolution` in the same.
    Raises NotEnough below two readings, for one that is not a number or between two graduations;
    ValueError for a resolution not above 0.
    """
    if len(readings) < 2:
        raise NotEnough(Reason(Why.TOO_FEW, what="a mean", given=len(readings), least=2))
    return MeanEvidence(count_bins(readings, resolution=resolution))


def mean_of_means(means: Sequence[float], *, step: float, shift: float) -> MeanEvidence:
    """What means, one for each thing that was repeated, say of theirs.

    step: means of n readings come in steps of a resolution over n; the coarsest of them.
    shift: how far rounding may have moved all of them alike.  Raises NotEnough below two.
    """
    start = means[0] if means else 0.0
    on_steps = [start + step * round((mean - start) / step) for mean in means]
    return replace(mean_of_readings(on_steps, resolution=step), shift=shift)


def largest_shift(least_sigma: float, resolution: float) -> float:
    """How far rounding may move the mean of readings that scatter by at least this sigma.

    The error is a saw tooth of the mean's place, smoothed by the scatter: the sum of the terms of
    its Fourier series, and never more than half a graduation (B. Widrow, I. Kollar, M.-C. Liu,
    IEEE Trans. Instrum. Meas. 45, 1996, 353-361, from memory).
    """
    falls = 2.0 * (math.pi * least_sigma / resolution) ** 2
    terms = (math.exp(-min(falls * k * k, 700.0)) / (math.pi * k) for k in range(1, 20))
    return resolution * min(0.5, math.fsum(terms))


def least_sd(values: Readings, risk: float = 0.025) -> float:
    """The lower limit of the standard deviation of points, or 0."""
    n = len(values)
    mean = math.fsum(values) / n
    squares = math.fsum((value - mean) ** 2 for value in values)
    return math.sqrt(squares / chi_square_quantile(1.0 - risk, n - 1))
