"""The axis test of a study: to which heights, how often, from which sides."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from hostctl.config.checked import Checked, Misplaced, Mm, PositiveMm, Told

NEAREST_MM = 1.0
"""The nozzle steps to and fro no nearer to where the bed may be (choice ours)."""

Way = Literal["above", "below"]
"""Whence a height is come to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What one trial is: counted from 1, in run `run` to target `target`, come to from there."""

    run: int
    target: int
    target_mm: float
    coming_from: Way


class AxisTest(Checked):
    """Z is sent to target heights again and again, from above and from below, and an indicator on
    the bed says where it came to (ISO 230-2)."""

    targets_mm: Annotated[
        list[Mm], Field(min_length=2, max_length=40), Told(allowed="list of heights, rising")
    ]
    """Nozzle heights above the machine's `reading_z_mm`; negative ones press the plunger in more.
    Uneven distances keep what repeats with each turn of the screw from hiding (ISO 230-2)."""
    runs: Annotated[int, Field(ge=2, le=100), Told(unit="runs")] = 5
    """How often each target is come to, from each side; the standard asks for 5."""
    both_sides: bool = True
    """False: from above alone."""
    overrun_mm: Annotated[float, Field(ge=0.05, le=2)] = 0.2
    """So far past a target it turns round, so that it comes from the other side."""
    calibrated_u_mm: Annotated[
        PositiveMm | None, Told(left_out="not calibrated, so accuracy is not said")
    ] = None
    """Standard uncertainty of the indicator by its certificate."""

    @property
    def trials(self) -> int:
        """How many readings it comes to."""
        return len(self.targets_mm) * self.runs * (2 if self.both_sides else 1)

    @property
    def lowest_mm(self) -> float:
        """How low the nozzle comes, from the reading height."""
        return self.targets_mm[0] - (self.overrun_mm if self.both_sides else 0.0)

    def aim(self, trial: int) -> Aim:
        """What trial 1, 2, … is: a run goes up the targets from below, then down from above."""
        run, at = divmod(trial - 1, self.trials // self.runs)
        count = len(self.targets_mm)
        rising = self.both_sides and at < count
        target = at if rising else count - 1 - at % count
        return Aim(
            run=run + 1,
            target=target + 1,
            target_mm=self.targets_mm[target],
            coming_from="below" if rising else "above",
        )

    @model_validator(mode="after")
    def _rising(self) -> Self:
        for index, (one, next_one) in enumerate(pairwise(self.targets_mm), 1):
            if next_one <= one:
                raise Misplaced("must be above the one before it", "targets_mm", index)
        return self
