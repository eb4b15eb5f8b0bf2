"""The levelling of a study: how flat, where measured, what stays as it is, how warm it waits."""

from typing import Annotated

from pydantic import Field

from hostctl.config.checked import Checked, Mm, Name, PositiveMm, Told

HANGS_MM = 0.05
"""A plunger pressed in by less than this may as well hang free (choice ours)."""


class Grid(Checked):
    """More points, evenly over what gauge and travel reach; `grid: null` leaves them out."""

    across: Annotated[int, Field(ge=2, le=9), Told(unit="points")] = 3
    """So many from left to right."""
    back: Annotated[int, Field(ge=2, le=9), Told(unit="points")] = 3
    """So many from front to back."""
    inset_mm: Annotated[float, Field(ge=0, le=200)] = 30.0
    """So far inside the travel the outer ones lie."""


class Still(Checked):
    """How a warm bed is waited for: one point is read again and again until it stays."""

    within_mm: PositiveMm = 0.01
    """It is still where the fitted drift over the last four looks is less than this."""
    look_every_s: Annotated[float, Field(ge=10, le=600)] = 60.0
    """How often it is read."""
    longest_s: Annotated[float, Field(ge=60, le=14_400)] = 3600.0
    """It is given up after so long, and said."""


class Level(Checked):
    """Levelling: what is good enough, and what is kept."""

    within_mm: PositiveMm = 0.05
    """Good enough: the plane's highest less its lowest, over all that is measured."""
    grid: Grid | None = Grid()
    keep: Annotated[Name | None, Told(left_out="the mean height is kept")] = None
    """A screw or a point that stays as high as it is; with two screws the bed's fixed corner."""
    raise_mm: Mm = 0.0
    """The whole bed is raised by so much, and the gap grows smaller by it."""
    most_rounds: Annotated[int, Field(ge=1, le=20), Told(unit="rounds")] = 5
    """So often it is measured and turned at most."""
    press_mm: Annotated[float, Field(ge=0.2, le=5)] = 1.5
    """So far an indicator is pressed in where the bed is at z = 0: a bed that is lower by as much
    is still met. Not below the machine's `pre_load_mm`."""
    slackened: Annotated[Name | None, Told(left_out="none")] = None
    """A screw that was slackened so that the others carry the bed; it is brought up last."""
    still: Annotated[Still | None, Told(left_out="needed with `warmth`")] = None
