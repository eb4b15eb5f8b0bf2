"""What a person at the machine is asked to do, as data. Each prompt carries one deed.

The set is closed: whoever asks picks one, whoever shows or obeys it matches on it, and nobody has
to read the prompt's words. `do` names the deed where it is written as JSON. `hands_in`: hands are
in the machine, or may well be, until it is answered; nothing moves meanwhile.
"""

from dataclasses import dataclass, field
from typing import Literal

Direction = Literal["clockwise", "anticlockwise"]
"""Seen from above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearBed:
    """See that nothing lies on the bed or is in the head's way, before the first motion."""

    do: Literal["clear-bed"] = field(default="clear-bed", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnScrew:
    """Turn one bed screw so far."""

    do: Literal["turn-screw"] = field(default="turn-screw", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    screw: str
    """Its name; the point's where the machine file names no screw."""
    turn_deg: float
    """How far."""
    direction: Direction | None
    """Seen from above; null: whatever lowers the bed there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetGap:
    """Set the gap under the nozzle."""

    do: Literal["set-gap"] = field(default="set-gap", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    method: str
    """The study's name for the way of setting it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayBlock:
    """Lay the gauge block on the bed, under the plunger."""

    do: Literal["lay-block"] = field(default="lay-block", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    thick_mm: float
    """How thick the block is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeBlock:
    """Take the gauge block off the bed."""

    do: Literal["take-block"] = field(default="take-block", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroIndicator:
    """Turn the indicator to zero."""

    do: Literal["zero-indicator"] = field(default="zero-indicator", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadIndicator:
    """Read the indicator and say what it shows: eyes alone."""

    do: Literal["read-indicator"] = field(default="read-indicator", init=False)
    hands_in: Literal[False] = field(default=False, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeReading:
    """A reading that nobody typed is hard to believe: look, then keep it or have it redone."""

    do: Literal["judge-reading"] = field(default="judge-reading", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    value_mm: float
    """The reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftHold:
    """See to what the run is held for, then let it go on."""

    do: Literal["lift-hold"] = field(default="lift-hold", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAtThermalFault:
    """Look at the machine and mend what failed, before anything that could clear the fault."""

    do: Literal["look-at-thermal-fault"] = field(default="look-at-thermal-fault", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


Deed = (
    ClearBed
    | TurnScrew
    | SetGap
    | LayBlock
    | TakeBlock
    | ZeroIndicator
    | ReadIndicator
    | JudgeReading
    | LiftHold
    | LookAtThermalFault
)
