"""What a decision can come to: it meets, it does not, or the data can't tell yet."""

from dataclasses import dataclass
from typing import TypeAlias

from hostctl.metrology.basis.reason import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Meets:
    """The claim holds, at the confidence asked for. `why` has the numbers a doubter can check."""

    why: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class DoesNotMeet:
    """The claim is false, at the confidence asked for."""

    why: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class CannotTellYet:
    """Neither can be said. `further_trials` would probably decide it (`power` is how probably).

    None: no number within reason would, and `why_no_trials`, where that is known.
    """

    why: Reason
    further_trials: int | None
    power: float
    why_no_trials: Reason | None = None


Verdict: TypeAlias = Meets | DoesNotMeet | CannotTellYet
