"""What a step is made of: the machine's deeds, beside those that people do (`hostctl/deeds.py`).

The set is closed. Whoever proposes a step picks from it; the run alone carries it out: it counts
down, keeps inside the envelope, holds, and takes a gauge block away before anything goes sideways.
"""

from dataclasses import dataclass

from hostctl.config.parts.axis import Way
from hostctl.config.parts.loop import Side
from hostctl.deeds import LayBlock, PressPlunger, SetGap, TakeBlock, TurnScrew


@dataclass(frozen=True, slots=True, kw_only=True)
class GoOver:
    """The head lifts and goes with its nozzle over a point."""

    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GoAway:
    """The head lifts and goes with its nozzle over a point: coming back is part of the reading."""

    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryPlungerOver:
    """The head lifts and goes with the indicator's plunger, high up, over a point."""

    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BringAndRead:
    """The gauge is brought to a point and read: on the gauge block where one was just laid.

    The reading is that of the step; of trial 0 it is the block's zero. above_mm: so much higher
    than usual, where the plunger comes down on a plate; in a levelling it may be lower.
    slowly: the whole way down, where the bed was turned.  second: by the study's second gauge.
    """

    point: str
    above_mm: float = 0.0
    slowly: bool = False
    second: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StepAndRead:
    """With the plunger on the bed the head steps to a height from one side, and the gauge is read.

    The reading is that of the step. above_mm: the height, above the reading height.  overrun_mm:
    it comes from so far off at least.  shows_mm: what the gauge shows there if the axis follows;
    None: nobody knows.
    """

    point: str
    above_mm: float
    coming_from: Way
    overrun_mm: float
    shows_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BringGauge:
    """The gauge is brought to a point and stays there: what it shows is seen, not kept."""

    point: str
    above_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ComeFrom:
    """The head lifts and comes with its probe over a point: from a side, from so far beside it.

    side: None: straight there, and nothing moves where it is there already.
    """

    point: str
    side: Side | None
    by_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftAway:
    """The head goes straight up to the clear height."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchOutput:
    """One of the machine's outputs is switched, the head up, and proven."""

    output: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmBed:
    """The bed is warm, and was for so long; somebody has said within 15 minutes that they stay."""

    bed_c: float
    soak_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolBed:
    """The heaters are off, and were for so long."""

    soak_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeAnew:
    """All axes home: the bed was turned, or it is a part of what is repeated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """Nothing moves for so long."""

    rest_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TieByTouch:
    """The nozzle comes down on the plate at a point until there is electrical contact."""

    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TieByFeelers:
    """Blades are tried under the nozzle at a point."""

    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TieByBlock:
    """The bed is turned up at a point until a gauge block under the nozzle just touches it."""

    point: str


Motion = GoOver | GoAway | CarryPlungerOver | BringAndRead | StepAndRead | BringGauge | ComeFrom
Service = HomeAnew | Rest | LiftAway | SwitchOutput | WarmBed | CoolBed
PeoplesDeed = TurnScrew | SetGap | LayBlock | TakeBlock | PressPlunger
TieDeed = TieByTouch | TieByFeelers | TieByBlock
StepDeed = Motion | Service | PeoplesDeed | TieDeed
