"""The constant of a tie: the gap at which the indicator reads 0, and how well it is known.

Where touches scatter visibly, what they are rounded to averages out; but only a rounding that sees
the scatter does so. A touch is rounded twice, by the step and by the graduation, and the one may
lie still while the other scatters. So a limit by the likelihood (`touches`) counts only where it is
the wider one; else it is Student's limit for the mean of the intervals' far ends, which holds
wherever in its interval each touch lies. tests/data/trueness.md has how well all this covers.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from hostctl.metrology.basis.confidence_box import (
    MESH,
    ConfidenceBox,
    Quantiles,
    box_of_sum,
)
from hostctl.metrology.basis.distributions import normal_cdf, normal_quantile
from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.student_box import student_box
from hostctl.metrology.trueness.touches import Touches, mean_of_lows_and_highs

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class TieInterval:
    """One observation of the constant, mm: between which values it says that it lies, the rounding
    of the reading included. Raises ValueError where it has no width."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise ValueError(f"a tie between {self.low} and {self.high} is no interval")

    @property
    def middle(self) -> float:
        """Halfway."""
        return 0.5 * (self.low + self.high)


@dataclass(frozen=True)
class TieConstant:
    """The gap at which the indicator reads 0, mm.

    value: the one that gaps are reckoned with.  box: where the true one may lie, at every risk, all
    doubts in it.  n: from how many observations.
    """

    value: float
    box: ConfidenceBox
    n: int

    @cached_property
    def interval(self) -> Interval:
        """Where it may lie, at 95 %."""
        return self.box.interval(CONFIDENCE)

    @property
    def standard_uncertainty(self) -> float:
        """That of a normal quantity with an interval as wide (JCGM 100:2008, 4.3.4; from memory).

        For shares of a doubt, and for people; limits come from the box.
        """
        return standard_uncertainty(self.interval)

    @cached_property
    def error(self) -> ConfidenceBox:
        """The true constant less `value`: what all gaps reckoned with it have in common."""
        return self.box.shifted(-self.value)


def standard_uncertainty(interval: Interval) -> float:
    """Half its width over the normal quantile of its confidence."""
    half = 0.5 * (interval.high - interval.low)
    return half / normal_quantile(0.5 * (1.0 + interval.confidence))


def tie_constant(observations: Sequence[TieInterval], *, beyond: float) -> TieConstant:
    """From touches of one point that hold together, mm.

    beyond: the standard uncertainty, normal, that repeating the touch can't show, 0 or more.
    value: the middle of the 95 % interval.
    Raises NotEnough below two observations, ValueError for a `beyond` below 0.
    """
    if len(observations) < 2:
        raise NotEnough(Reason(Why.TOO_FEW, what="a tie", given=len(observations), least=2))
    if not 0.0 <= beyond < math.inf:
        raise ValueError(f"what a tie can't show is {beyond}, must be 0 or more")
    box = _seen(observations)
    if beyond > 0.0:
        box = box_of_sum(box, normal_error(beyond))
    return _constant(box, len(observations))


def hull(first: TieConstant, second: TieConstant) -> TieConstant:
    """What holds anywhere between two constants: of readings taken while the tie moved."""
    uppers = zip(first.box.upper.values, second.box.upper.values, strict=True)
    lowers = zip(first.box.lower.values, second.box.lower.values, strict=True)
    box = ConfidenceBox(
        upper=Quantiles(tuple(max(pair) for pair in uppers)),
        lower=Quantiles(tuple(min(pair) for pair in lowers)),
    )
    return _constant(box, first.n + second.n)


def elsewhere(constant: TieConstant, guides: float) -> TieConstant:
    """At another point, to which the guides may rise or fall by so much, mm: uniform.

    Raises ValueError for `guides` below 0. Source: JCGM 100:2008, 4.3.7 (from memory).
    """
    if not 0.0 <= guides < math.inf:
        raise ValueError(f"the guides' allowance is {guides}, must be 0 or more")
    if guides == 0.0:
        return constant
    uniform = Quantiles(tuple(guides * (2.0 * normal_cdf(z) - 1.0) for z in MESH))
    return TieConstant(constant.value, box_of_sum(constant.box, _known(uniform)), constant.n)


def _seen(observations: Sequence[TieInterval]) -> ConfidenceBox:
    """By the touches alone: whichever limit is the wider."""
    unit = max(one.high - one.low for one in observations)
    start = observations[0].low
    ends = [((one.low - start) / unit, (one.high - start) / unit) for one in observations]
    by_likelihood = Touches(ends).box
    low, high, error = mean_of_lows_and_highs(ends)
    of_highs = student_box(high, error, len(ends) - 1).upper.values
    of_lows = student_box(low, error, len(ends) - 1).lower.values
    uppers = map(max, by_likelihood.upper.values, of_highs)
    lowers = map(min, by_likelihood.lower.values, of_lows)
    return ConfidenceBox(
        upper=Quantiles(tuple(start + unit * value for value in uppers)),
        lower=Quantiles(tuple(start + unit * value for value in lowers)),
    )


def normal_error(u: float) -> ConfidenceBox:
    """That of a normal quantity with this standard uncertainty."""
    return _known(Quantiles(tuple(u * z for z in MESH)))


def _known(quantiles: Quantiles) -> ConfidenceBox:
    return ConfidenceBox(upper=quantiles, lower=quantiles)


def _constant(box: ConfidenceBox, n: int) -> TieConstant:
    interval = box.interval(CONFIDENCE)
    return TieConstant(0.5 * (interval.low + interval.high), box, n)
