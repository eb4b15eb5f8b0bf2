"""The envelope: which moves a machine may make, decided before a byte is sent. Pure.

A move is straight up or down, or sideways; nothing else can be written down, so up, across and
down can't be mixed into one slanted move. Sideways only at or above the clear height; the last
2 mm down to where something may be touched are slow, and cut into short steps, so that a hold
acts within one of them.
"""

import math
from dataclasses import dataclass
from typing import assert_never

from hostctl.config.machine import Machine, Span
from hostctl.config.parts.axis import NEAREST_MM, Way
from hostctl.errors import MachineError
from hostctl.records import Position

SLOW_MM = 2.0
"""So much of each descent is slow (common practice, no source)."""

STEP_MM = 1.0
"""The slow part is done in steps of this length."""

SLOW_SIDEWAYS_MM_S = 10.0
"""So slowly that eyes can follow what hangs on the head (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vertical:
    """Straight up or down to `z_mm`."""

    z_mm: float
    speed_mm_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sideways:
    """Across to `x_mm`, `y_mm` at the present height."""

    x_mm: float
    y_mm: float
    speed_mm_s: float


Move = Vertical | Sideways


class Envelope:
    """What one machine may do. All heights are the nozzle's, mm."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._where = f"machine '{machine.machine}'"
        self.things_stand_mm = 0.0
        """How high what was just laid in the machine stands above z = 0: plate, clip, leads."""
        self.hangs_mm = 0.0
        """How far below the nozzle something hangs that the machine file does not tell of yet."""
        self.floor_z_mm = -math.inf
        """Lower the nozzle does not go for now, whatever the travel: the bed may lie there."""

    @property
    def clear_z_mm(self) -> float:
        """The height at or above which the head may go sideways."""
        below_mm = max(self.things_stand_mm - self._machine.highest_point_mm, 0.0)
        return self._machine.clear_z_mm + below_mm + self.hangs_mm

    @property
    def lowest_z_mm(self) -> float:
        """The lowest the nozzle may go: the plunger must never be driven to its stop."""
        indicator = self._machine.indicator
        lowest_mm = max(self._machine.travel.z.from_mm, self.floor_z_mm)
        if indicator is None:
            return lowest_mm
        room_mm = indicator.travel_mm - indicator.pre_load_mm
        return max(lowest_mm, indicator.reading_z_mm - room_mm)

    def up(self, at: Position, z_mm: float) -> list[Move]:
        """The moves straight up from `at` to `z_mm`; none when the head is there or above."""
        if at.z_mm >= z_mm:
            return []
        return [Vertical(z_mm=z_mm, speed_mm_s=self._machine.speeds.lift_mm_s)]

    def across(self, x_mm: float, y_mm: float, *, slowly: bool = False) -> list[Move]:
        """The move across to `x_mm`, `y_mm`. slowly: so that eyes can follow."""
        speed_mm_s = self._machine.speeds.sideways_mm_s
        if slowly:
            speed_mm_s = min(speed_mm_s, SLOW_SIDEWAYS_MM_S)
        return [Sideways(x_mm=x_mm, y_mm=y_mm, speed_mm_s=speed_mm_s)]

    def down(self, at: Position, z_mm: float, *, slowly: bool = False) -> list[Move]:
        """The moves down from `at` to `z_mm`: brisk at first, the last 2 mm in slow short steps.

        slowly: all the way in slow short steps. Raises MachineError when `z_mm` is above `at`: a
        descent ends downward, always.
        """
        fall_mm = at.z_mm - z_mm
        if not fall_mm >= 0:
            raise self._refused(f"lowering to z {z_mm:g} mm from {at.z_mm:g} mm is not downward")
        if slowly or fall_mm <= SLOW_MM:
            return self._slow_steps(at.z_mm, z_mm)
        slow_from_mm = z_mm + SLOW_MM
        brisk = Vertical(z_mm=slow_from_mm, speed_mm_s=self._machine.speeds.lift_mm_s)
        return [brisk, *self._slow_steps(slow_from_mm, z_mm)]

    def step_to(self, at: Position, z_mm: float, coming_from: Way, overrun_mm: float) -> list[Move]:
        """Slow short steps to `z_mm` that end downward or upward, from `overrun_mm` off at least.

        Raises MachineError where any of them is lower than 1 mm above where the bed may be, lower
        than the plunger allows, or above the clear height.
        """
        if not overrun_mm > 0:
            raise self._refused(f"coming from {coming_from} by {overrun_mm:g} mm is no way")
        if coming_from == "above":
            turn_z_mm = max(at.z_mm, z_mm + overrun_mm)
        else:
            turn_z_mm = min(at.z_mm, z_mm - overrun_mm)
        lowest_mm = max(self.lowest_z_mm, self.things_stand_mm + NEAREST_MM)
        for end_mm in (turn_z_mm, z_mm):
            if not lowest_mm <= end_mm <= max(self.clear_z_mm, at.z_mm):
                raise self._refused(
                    f"z {end_mm:g} mm is not within {lowest_mm:g} and {self.clear_z_mm:g} mm, "
                    "where the head may step to and fro"
                )
        return [*self._slow_steps(at.z_mm, turn_z_mm), *self._slow_steps(turn_z_mm, z_mm)]

    def _slow_steps(self, from_z_mm: float, z_mm: float) -> list[Move]:
        """Straight from one height to the other, in steps of at most 1 mm at approach speed."""
        way_mm, speed_mm_s = from_z_mm - z_mm, self._machine.speeds.approach_mm_s
        steps = math.ceil(abs(way_mm) / STEP_MM - 1e-9)
        ends = (round(z_mm + way_mm * (steps - done) / steps, 4) for done in range(1, steps + 1))
        return [Vertical(z_mm=end, speed_mm_s=speed_mm_s) for end in ends]

    def step_down(self, from_z_mm: float, z_mm: float, most_mm: float) -> Vertical:
        """One step towards a contact, at most `most_mm` long. Limits are never widened for it.

        Raises MachineError where it is longer, not downward, or ends below the travel.
        """
        if not 0 < from_z_mm - z_mm <= most_mm + 1e-6:
            raise self._refused(
                f"from z {from_z_mm:g} to {z_mm:g} mm is no step down of up to {most_mm:g} mm"
            )
        self.check_reach(z_mm)
        return Vertical(z_mm=z_mm, speed_mm_s=self._machine.speeds.approach_mm_s)

    def check_reach(self, z_mm: float) -> None:
        """Raises MachineError where the nozzle can't go as low as whatever lies there."""
        lowest_mm = self.lowest_z_mm
        if z_mm < lowest_mm - 1e-6:
            ends = lowest_mm == self._machine.travel.z.from_mm
            why = "the travel ends" if ends else "the indicator's plunger meets its stop"
            raise MachineError(
                self._where,
                f"the bed lies below z {lowest_mm:g} mm, where {why}; nothing was sent",
                "Turn the bed up by hand, then begin anew.",
            )

    def check(self, move: Move, at: Position) -> None:
        """Raises MachineError unless `move`, begun from `at`, keeps inside the envelope."""
        match move:
            case Vertical():
                self._check_vertical(move, at)
            case Sideways():
                self._check_sideways(move, at)
            case _:
                assert_never(move)

    def check_spot(self, x_mm: float, y_mm: float) -> None:
        """Raises MachineError unless the nozzle may be over `x_mm`, `y_mm`."""
        self._within("x", x_mm, self._machine.travel.x)
        self._within("y", y_mm, self._machine.travel.y)

    def check_hands_safe(self, nozzle_c: float | None, bed_c: float | None) -> None:
        """Raises MachineError when nozzle or bed is too hot to have hands near."""
        heat = self._machine.heat
        for part, is_c, most_c in (
            ("nozzle", nozzle_c, heat.hottest_nozzle_c),
            ("bed", bed_c, heat.hottest_bed_c),
        ):
            if is_c is not None and not is_c <= most_c:
                raise MachineError(
                    self._where,
                    f"the {part} is at {is_c:.0f} °C, and hands are near it",
                    f"Leave its heater off and wait until it is below {most_c:.0f} °C.",
                )

    def check_bed_target(self, bed_c: float) -> None:
        """Raises MachineError when the bed may not be made as warm as `bed_c`."""
        if not 0 < bed_c <= self._machine.heat.hottest_bed_c:
            raise self._refused(f"a bed at {bed_c:g} °C is not allowed")

    def _check_vertical(self, move: Vertical, at: Position) -> None:
        self._within("z", move.z_mm, self._machine.travel.z)
        if move.z_mm < self.floor_z_mm:
            raise self._refused(f"z {move.z_mm:g} mm is below the floor, {self.floor_z_mm:g} mm")
        if move.z_mm < self.lowest_z_mm:
            raise self._refused(f"at z {move.z_mm:g} mm the indicator's plunger meets its stop")
        self._capped(move.speed_mm_s, self._machine.speeds.lift_mm_s)
        touching_mm = self._machine.set_z_mm + SLOW_MM
        brisk = move.speed_mm_s > self._machine.speeds.approach_mm_s
        if move.z_mm < at.z_mm and brisk and move.z_mm < touching_mm - 1e-6:
            raise self._refused(
                f"going down to z {move.z_mm:g} mm at {move.speed_mm_s:g} mm/s is too fast"
            )

    def _check_sideways(self, move: Sideways, at: Position) -> None:
        self.check_spot(move.x_mm, move.y_mm)
        self._capped(move.speed_mm_s, self._machine.speeds.sideways_mm_s)
        clear_mm = self.clear_z_mm
        if not at.z_mm >= clear_mm - self._machine.position_tolerance_mm:
            raise self._refused(
                f"going sideways at z {at.z_mm:g} mm, below the clear height {clear_mm:g} mm"
            )

    def _within(self, axis: str, to_mm: float, span: Span) -> None:
        if to_mm not in span:
            raise self._refused(
                f"{axis} {to_mm:g} mm is outside the travel {span.from_mm:g} to {span.to_mm:g} mm"
            )

    def _capped(self, speed_mm_s: float, most_mm_s: float) -> None:
        if not 0 < speed_mm_s <= most_mm_s:
            raise self._refused(f"{speed_mm_s:g} mm/s is not a speed up to {most_mm_s:g} mm/s")

    def _refused(self, what: str) -> MachineError:
        return MachineError(
            self._where, f"{what}; nothing was sent", "Check the machine file against the machine."
        )
