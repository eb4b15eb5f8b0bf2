"""How long the machine is busy with a study: what it moves, settles and counts down, by its file.

People's own time is not in it. Checked against the simulated printer at a printer's pace.
"""

import math
from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Order, Study

_SLOW_MM = 2.0
"""The last of each way down, at approach speed."""
_HOMING_S = 30.0
"""Homing of a printer of the usual size (common practice, no source)."""
_PROBING_MM_S = 4.0
"""The controller's own speed down to a touch and up again (common practice, no source)."""
_STOPS_S = 0.2
"""Beside each move: starting, stopping, and being asked where it is."""
_TO_PARK_MM = 100.0
"""About how far the head parks from where it stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """The times of one machine's ways in one study, s.

    by_probe: whether the touch probe reads. stands_mm: how much higher the head goes sideways for
    what was laid in the machine.
    """

    machine: Machine
    study: Study
    by_probe: bool
    stands_mm: float = 0.0

    @property
    def count_s(self) -> float:
        """The warning before anything moves, once hands may have been in."""
        return float(self.study.cycle.countdown_s)

    @property
    def settle_s(self) -> float:
        """The rest before a reading."""
        return self.study.cycle.settle_s

    @property
    def clear_z_mm(self) -> float:
        """The height at which the head goes sideways."""
        return self.machine.clear_z_mm + self.stands_mm

    @property
    def reads_at_mm(self) -> float:
        """The nozzle's height once a reading is taken: the controller lifts a probe again."""
        if self.by_probe:
            return self.clear_z_mm
        return self.machine.indicator.reading_z_mm if self.machine.indicator else 0.0

    def up_s(self, from_z_mm: float) -> float:
        """To the clear height."""
        return _STOPS_S + self._brisk_s(self.clear_z_mm - from_z_mm)

    def down_s(self, to_z_mm: float) -> float:
        """From the clear height, the last of it slowly."""
        fall_mm = self.clear_z_mm - to_z_mm
        slow_mm = min(fall_mm, _SLOW_MM)
        return _STOPS_S + self._brisk_s(fall_mm - slow_mm) + self.slow_s(slow_mm)

    def slow_s(self, way_mm: float) -> float:
        """Up or down at approach speed."""
        return way_mm / self.machine.speeds.approach_mm_s

    def across_s(self, way_mm: float) -> float:
        """Sideways."""
        return _STOPS_S + way_mm / self.machine.speeds.sideways_mm_s

    def to_gauge_s(self) -> float:
        """From the nozzle over a point to what reads there."""
        tool = self.machine.probe if self.by_probe else self.machine.indicator
        return self.across_s(math.hypot(tool.offset_x_mm, tool.offset_y_mm)) if tool else 0.0

    def touch_s(self) -> float:
        """The probe settled, then down to the bed and up again."""
        return self.settle_s + _STOPS_S + 2 * self.clear_z_mm / _PROBING_MM_S

    def read_s(self) -> float:
        """From the clear height down to the reading, and settled there."""
        if self.by_probe:
            return self.touch_s()
        return self.down_s(self.reads_at_mm) + self.settle_s

    def between_points_s(self) -> float:
        """Going to another point for each trial, where the order is mixed: about."""
        points = [point for point in self.machine.points if point.name in self.study.points]
        if self.study.order is not Order.MIXED or not points:
            return 0.0
        ways_mm = [math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) for a in points for b in points]
        return sum(ways_mm) / len(ways_mm) / self.machine.speeds.sideways_mm_s

    def _brisk_s(self, way_mm: float) -> float:
        return max(way_mm, 0.0) / self.machine.speeds.lift_mm_s


def away_and_back_s(ways: Ways) -> float:
    """One reading with nothing set: up, away and back, down, settled."""
    there_s = 2 * ways.to_gauge_s() + ways.between_points_s()
    return ways.count_s + ways.up_s(ways.reads_at_mm) + there_s + ways.read_s()


def setting_s(ways: Ways) -> float:
    """One reading with its setting: over the point, down to be set, up, across, down and read."""
    set_z_mm = ways.machine.set_z_mm
    turned_s = ways.count_s if ways.study.cycle.turn_away else 0.0
    lowered_s = turned_s + ways.down_s(set_z_mm)
    return away_and_back_s(ways) + lowered_s + ways.count_s + ways.up_s(set_z_mm)


def homing_s(ways: Ways) -> float:
    """Once: up, homed, dry cycles made, and parked at the end."""
    machine = ways.machine
    cycle_s = ways.up_s(ways.reads_at_mm) + 2 * ways.to_gauge_s()
    cycle_s += ways.settle_s if ways.by_probe else ways.read_s()
    park_s = ways.up_s(ways.reads_at_mm) + ways.across_s(_TO_PARK_MM) if machine.park else 0.0
    up_s = machine.clear_z_mm / machine.speeds.lift_mm_s
    return ways.count_s + up_s + _HOMING_S + machine.dry_cycles * cycle_s + park_s
