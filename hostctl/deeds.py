"""What a person at the machine is asked to do, as data. Each prompt carries one deed.

The set is closed: whoever asks picks one, whoever shows or obeys it matches on it, and nobody has
to read the prompt's words. `do` names the deed where it is written as JSON. `hands_in`: hands are
in the machine, or may well be, until it is answered; nothing moves meanwhile.
"""

from dataclasses import dataclass, field
from typing import Literal

Direction = Literal["clockwise", "anticlockwise"]
"""Seen from above."""

SeenFrom = Literal["above", "below"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearBed:
    """See that nothing lies on the bed or is in the head's way, before the first motion."""

    do: Literal["clear-bed"] = field(default="clear-bed", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeHands:
    """Another person, or another method, from here on: come to the machine, and say so."""

    do: Literal["change-hands"] = field(default="change-hands", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    operator: str
    """Whose hands set from here; empty: nobody is named."""
    method: str
    """The study's name for the way of setting it."""


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
    seen_from: SeenFrom = "above"
    """Whence whoever turns it looks at it: from below the same turn goes the other way round."""
    target_mm: float | None = None
    """What the indicator over it shows about then; null: nothing is shown meanwhile."""


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
class SendReading:
    """Press the button of the indicator's cable: the reading comes from that alone."""

    do: Literal["send-reading"] = field(default="send-reading", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class PressPlunger:
    """Press the plunger in by hand, and say which way the number went."""

    do: Literal["press-plunger"] = field(default="press-plunger", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class WireContact:
    """See that nozzle and plate were wired with the printer unplugged, and the nozzle is clean."""

    do: Literal["wire-contact"] = field(default="wire-contact", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterLeads:
    """Measure voltage and resistance between nozzle and plate, before anything is joined."""

    do: Literal["meter-leads"] = field(default="meter-leads", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinLamp:
    """Join lamp or coupler between the leads of nozzle and plate, with nothing in contact yet."""

    do: Literal["join-lamp"] = field(default="join-lamp", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    by_eye: bool
    """Whether a person says what the contact shows; else the machine sees it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchLeads:
    """Watch the leads during a slow pass: eyes alone."""

    do: Literal["watch-leads"] = field(default="watch-leads", init=False)
    hands_in: Literal[False] = field(default=False, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayPlate:
    """Lay the plate on the bed, under the nozzle."""

    do: Literal["lay-plate"] = field(default="lay-plate", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    thick_mm: float
    """How thick it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TryBlade:
    """Try feeler blades under the nozzle, and say how thick one of them is."""

    do: Literal["try-blade"] = field(default="try-blade", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    which: Literal["largest-in", "smallest-out"]
    """The largest that goes in, or the smallest that does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinByHand:
    """Join nozzle and plate by the lead, or part them again, and see that contact is told."""

    do: Literal["join-by-hand"] = field(default="join-by-hand", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    joined: bool
    """Whether they are to be joined."""
    by_eye: bool
    """Whether a person says what the contact shows; else the machine sees it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchLamp:
    """Say whether the lamp is dark or lit: eyes alone."""

    do: Literal["watch-lamp"] = field(default="watch-lamp", init=False)
    hands_in: Literal[False] = field(default=False, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetOnBlock:
    """Turn the screw until the gauge block under the nozzle just touches it."""

    do: Literal["set-on-block"] = field(default="set-on-block", init=False)
    hands_in: Literal[True] = field(default=True, init=False)
    thick_mm: float
    """How thick the block is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearAway:
    """Take leads, plate, blades and block out of the machine."""

    do: Literal["clear-away"] = field(default="clear-away", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SayPresent:
    """Say that somebody is there, while the bed may be heated."""

    do: Literal["say-present"] = field(default="say-present", init=False)
    hands_in: Literal[False] = field(default=False, init=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SayHeatAgain:
    """After a fault or a stop: say whether the bed may be heated again."""

    do: Literal["say-heat-again"] = field(default="say-heat-again", init=False)
    hands_in: Literal[True] = field(default=True, init=False)


Deed = (
    ClearBed
    | ChangeHands
    | TurnScrew
    | SetGap
    | LayBlock
    | TakeBlock
    | ZeroIndicator
    | ReadIndicator
    | SendReading
    | JudgeReading
    | LiftHold
    | LookAtThermalFault
    | PressPlunger
    | WireContact
    | MeterLeads
    | JoinLamp
    | WatchLeads
    | LayPlate
    | TryBlade
    | JoinByHand
    | WatchLamp
    | SetOnBlock
    | ClearAway
    | SayPresent
    | SayHeatAgain
)
