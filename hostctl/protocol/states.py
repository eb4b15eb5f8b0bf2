"""The states of an exchange, each holding exactly what is true in it, and what it hands out."""

from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from hostctl.protocol.proof import Proof

UNPROVEN = 3
"""So many times an `ok` without its proof is doubted; a machine may word its report unknowably."""


@dataclass(frozen=True, slots=True)
class Idle:
    """Nothing is out; the next command gets number `next_line`."""

    next_line: int


class Waiting(NamedTuple):
    """Line `line` is out and not acknowledged."""

    line: int
    at: int
    """The number sent last: below `line` while older lines are repeated on the way up to it."""
    proof: Proof = ()
    """One of these events must be seen before an unnumbered `ok` is believed."""
    proven: bool = False
    unreadable: bool = False
    """Something came that could not be read: an `ok` that follows it is the line's own."""
    repeats: int = 0
    """How many times anything was sent again since `line` was submitted."""
    deadlines_passed: int = 0
    doubted: int | None = None
    """A number that was asked for and can't be right; asked for again, it is a fault."""
    reported: bool = False
    """`line` was reported done already, and it turned out that something before it was not."""

    @property
    def lacks_proof(self) -> bool:
        """Whether a plain `ok` is still to be doubted."""
        awaited = bool(self.proof) and not self.proven and self.at == self.line
        return awaited and not self.unreadable and self.repeats < UNPROVEN


@dataclass(frozen=True, slots=True)
class Settling:
    """Something irregular happened: nothing is sent until the line has fallen quiet."""

    then: Idle | Waiting
    damaged: bool = False
    """The controller asked for the resend; it counts as noise."""


class Cause(Enum):
    """Why the line is down."""

    RESET = "reset"
    HALTED = "halted"
    STOPPED = "stopped itself"
    THERMAL = "thermal"
    SILENT = "silent"
    OUT_OF_STEP = "out of step"
    NOISY = "noisy"
    REPEATING = "repeating"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class Fault:
    """The line can't be trusted any more; only a new exchange, after a new opening, can."""

    cause: Cause
    text: str


@dataclass(frozen=True, slots=True)
class Down:
    """Out of use because of `fault`. Nothing leads out of this state, but to a thermal fault."""

    fault: Fault


State = Idle | Waiting | Settling | Down


@dataclass(frozen=True, slots=True)
class Send:
    """Write `data` to the port, and start the deadline of the outstanding line anew."""

    data: bytes


@dataclass(frozen=True, slots=True)
class Done:
    """Line `line` was acknowledged, or is otherwise known to have been taken."""

    line: int


Output = Send | Done | Fault
