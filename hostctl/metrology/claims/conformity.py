"""Whether one measured value conforms to limits, its uncertainty taken into account.

JCGM 106:2012 clauses 7 and 8, ISO 14253-1:2017 (both from memory). A guard band w = r U, with
U = 2 u, is drawn inside the limits for accepting and outside them for rejecting; what falls between
can't be told. r = 0.83 keeps the chance of wrongly accepting below 5 %, r = 1 below 2.5 %.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
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


def judge(value: float, expanded: float, limits: Limits, *, guard: float = ISO_14253_1) -> Verdict:
    """Accept within the limits less `guard` x U, reject beyond them by more than that.

    expanded: U, at k = 2.  On the guarded limit itself the value is accepted. Where the guard bands
    leave no room between them nothing can be accepted.  Source: ISO 14253-1:2017; JCGM 106 8.3.
    """
    _check(value, expanded)
    w = guard * expanded
    if limits.lower + w <= value <= limits.upper - w:
        return Meets(why=Reason(Why.VALUE_INSIDE))
    if value > limits.upper + w or value < limits.lower - w:
        return DoesNotMeet(why=Reason(Why.VALUE_BEYOND))
    no_room = 2 * w > limits.upper - limits.lower
    why = Reason(Why.NO_ROOM_FOR_VALUE if no_room else Why.VALUE_TOO_NEAR)
    return CannotTellYet(why=why, further_trials=None, power=0.0)


def _check(value: float, u: float) -> None:
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0):
        raise NotEnough(Reason(Why.VALUE_NOT_JUDGED, value=value, u=u))
