"""A probe loop of a study: how touches come, when it stops, whether bed heat is cycled."""

from typing import Annotated, Literal

from pydantic import Field

from hostctl.config.checked import Checked, Name, Told

Side = Literal["left", "right"]
"""Where the head comes from. Left: where x is smaller."""


class HeatCycles(Checked):
    """The bed is warmed and cooled in turn while the probe touches. Somebody must stay: each 15
    minutes they are asked, and without an answer the heaters go off and the run holds."""

    bed_c: Annotated[float, Field(gt=0, le=110)]
    """How warm; up to the machine's own `hottest_bed_c`."""
    warm_touches: Annotated[int, Field(ge=1, le=10_000), Told(unit="touches")] = 50
    """So many at each point while it is warm."""
    cool_touches: Annotated[int, Field(ge=1, le=10_000), Told(unit="touches")] = 50
    """So many at each point with the heaters off."""
    soak_s: Annotated[float, Field(ge=0, le=7200)] = 600.0
    """Wait at temperature, and after the heaters went off."""
    cycles: Annotated[int, Field(ge=1, le=100), Told(unit="cycles")] = 3
    """So often warm, then cool; `trials` is what they come to at each point."""

    @property
    def trials(self) -> int:
        """How many touches all cycles come to, at each point."""
        return self.cycles * (self.warm_touches + self.cool_touches)

    def is_warm(self, trial: int) -> bool:
        """Whether the bed is heated at this trial of a block, counted from 1."""
        return (trial - 1) % (self.warm_touches + self.cool_touches) < self.warm_touches


class Loop(Checked):
    """How a probe loop touches, and when it stops before its `trials` are done."""

    lift_away: bool = False
    """Between touches the head goes up to the clear height, not only by `probe_lift_mm`."""
    probe_out: Annotated[Name | None, Told(left_out="it needs none")] = None
    """The machine's output that brings the probe out, before each descent."""
    probe_in: Annotated[Name | None, Told(left_out="it needs none")] = None
    """The machine's output that takes the probe in again, before the head goes sideways."""
    home_every: Annotated[
        int | None, Field(ge=1, le=10_000), Told(unit="touches", left_out="not between")
    ] = None
    """All axes home anew after so many touches."""
    sides: bool = False
    """The head comes to the point from the left and from the right in turn."""
    side_mm: Annotated[float, Field(ge=1, le=50)] = 10.0
    """From so far beside the point."""
    longest_s: Annotated[float | None, Field(ge=60), Told(left_out="no limit")] = None
    """It stops after so long."""
    known_to: Annotated[
        float | None, Field(ge=0.03, le=0.5), Told(unit="share", left_out="it goes on")
    ] = None
    """It stops once the spread is known to within this share of itself, 95 % sure, all looks at
    all points counted; not while drift shows or neighbours are alike."""
    control_limit: bool = True
    """It holds on a touch that is out of what went before: false in one of a hundred loops."""
    failures_in_row: Annotated[int, Field(ge=1, le=20), Told(unit="touches")] = 3
    """It holds, head up, once so many touches in a row gave no height."""
    heat: Annotated[HeatCycles | None, Told(left_out="heaters stay off")] = None

    def side(self, trial: int) -> Side | None:
        """Where the head comes from at this trial of a block, counted from 1; None: anywhere."""
        if not self.sides:
            return None
        return "left" if trial % 2 else "right"
