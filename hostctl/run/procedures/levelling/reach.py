"""Where the bed can be met while a levelling measures, and where it must not come.

A turn may be made the wrong way. So none is advised by which the bed could come within 1 mm of the
nozzle. The plunger's stop lies beyond that: by the machine file its travel takes in the nozzle at
the bed.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.config.grid import level_of
from hostctl.config.parts.level import HANGS_MM

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study

CLEARANCE_MM = 1.0
"""Between bed and nozzle, whichever way a screw is turned (as the task has it)."""
BELOW_CLEAR_MM = 0.5
"""The free plunger is read so far below the clear height: a descent ends downward (choice ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Of one study on one machine. All mm.

    above_mm: how much higher than usual the head stands to read a height; below 0: lower.
    free_above_mm: the same where the plunger hangs free; None: a probe, which has none.
    press_mm: how far the plunger is pressed in where the bed is at z = 0.
    turning_z_mm: the nozzle's height while screws are turned.
    highest_mm: no higher may the bed come anywhere.
    lowest_mm: no lower bed is met; None: a probe says so itself.  gauge_x_mm, gauge_y_mm: where the
    plunger is, seen from the nozzle; 0 of a probe, at whose screws no head stands.
    """

    above_mm: float
    free_above_mm: float | None
    press_mm: float
    turning_z_mm: float
    highest_mm: float
    lowest_mm: float | None
    gauge_x_mm: float = 0.0
    gauge_y_mm: float = 0.0


def reach_of(study: "Study", machine: "Machine") -> Reach:
    """By its gauge, which the machine has."""
    level, tip = level_of(study), machine.indicator
    if study.gauge.kind == "probe" or tip is None or level is None:
        return Reach(
            above_mm=0.0,
            free_above_mm=None,
            press_mm=0.0,
            turning_z_mm=machine.clear_z_mm,
            highest_mm=machine.clear_z_mm - CLEARANCE_MM,
            lowest_mm=None,
        )
    above_mm = round(tip.pre_load_mm - level.press_mm, 6)
    turning_z_mm = round(tip.reading_z_mm + above_mm, 6)
    return Reach(
        above_mm=above_mm,
        free_above_mm=round(machine.clear_z_mm - BELOW_CLEAR_MM - tip.reading_z_mm, 6),
        press_mm=level.press_mm,
        turning_z_mm=turning_z_mm,
        highest_mm=turning_z_mm - CLEARANCE_MM,
        lowest_mm=HANGS_MM - level.press_mm,
        gauge_x_mm=tip.offset_x_mm,
        gauge_y_mm=tip.offset_y_mm,
    )
