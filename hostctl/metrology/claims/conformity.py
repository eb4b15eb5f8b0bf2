"""Whether one measured value conforms to limits, its uncertainty taken into account.

JCGM 106:2012 clauses 7 and 8, ISO 14253-1:2017 (both from memory). A guard band w = r U, with
U = 2 u, is drawn inside the limits for accepting and outside them for rejecting; what falls between
can't be told. r = 0.83 keeps the chance of wrongly accepting below 5 %, r = 1 below 2.5 %.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.distributions import normal_quantile, normal_sf, student_t_cdf
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Number, Reason, Why
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets, Verdict

ISO_14253_1 = 0.83


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Lower and upper limit of what is tolerated; an infinite one is none."""

    lower: float = -math.inf
    upper: float = math.inf

    def __post_init__(self) -> None:
        if not self.lower < self.upper:
            raise ValueError(f"a lower limit of {self.lower} is not below {self.upper}")


def conformance_probability(
    value: float, u: float, limits: Limits, *, df: float = math.inf
) -> float:
    """Chance that the true value lies within the limits, given value and standard uncertainty.

    Normal, or Student's t on df. With u = 0 it is 0 or 1.  Source: JCGM 106:2012, 7.2 to 7.4.
    """
    _check(value, u)
    if u == 0:
        return float(limits.lower <= value <= limits.upper)
    above = student_t_cdf((value - limits.upper) / u, df)
    below = student_t_cdf((limits.lower - value) / u, df)
    return max(0.0, 1 - above - below)


def judge(
    value: float, expanded: float, limits: Limits, *, guard: float = ISO_14253_1, unit: str = "mm"
) -> Verdict:
    """Accept within the limits less `guard` x U, reject beyond them by more than that.

    expanded: U, at k = 2.  On the guarded limit itself the value is accepted. Where the guard bands
    leave no room between them nothing can be accepted.  Source: ISO 14253-1:2017; JCGM 106 8.3.
    """
    _check(value, expanded)
    w = guard * expanded
    found: dict[str, Number] = {"value": value, "expanded": expanded, "unit": unit}
    if limits.lower + w <= value <= limits.upper - w:
        return Meets(why=Reason(Why.VALUE_INSIDE, guard=w, **found))
    if value > limits.upper + w or value < limits.lower - w:
        return DoesNotMeet(why=Reason(Why.VALUE_BEYOND, guard=w, **found))
    no_room = 2 * w > limits.upper - limits.lower
    why = Reason(Why.NO_ROOM_FOR_VALUE if no_room else Why.VALUE_TOO_NEAR, **found)
    return CannotTellYet(why=why, further_trials=None, power=0.0)


def guard_factor(risk: float) -> float:
    """r = w / U that keeps the chance of wrongly accepting at `risk`, for one limit and U = 2 u."""
    return normal_quantile(1 - risk) / 2


def worst_false_acceptance(guard: float) -> float:
    """Chance that a value accepted right on the guarded limit is in truth beyond the limit."""
    return normal_sf(2 * guard)


def rejection_limit(upper: float, u: float, *, certainty: float) -> float:
    """Above this a value exceeds `upper` with at least that certainty (JCGM 106:2012, 8.3.3)."""
    _check(upper, u)
    return upper + normal_quantile(certainty) * u


def capability_index(limits: Limits, u: float) -> float:
    """C_m = (upper - lower) / (4 u): how small the uncertainty is beside the tolerance (7.6.3)."""
    return (limits.upper - limits.lower) / (4 * u) if u else math.inf


def _check(value: float, u: float) -> None:
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0):
        raise NotEnough(Reason(Why.VALUE_NOT_JUDGED, value=value, u=u))
