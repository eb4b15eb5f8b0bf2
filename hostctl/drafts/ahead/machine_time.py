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
_TOUCH_S = 5.0
"""A touch of the probe, with its slow way down and up (common practice, no source)."""
_STOPS_S = 0.2
"""Beside each move: starting, stopping, and being asked where it is."""


@dataclass(frozen=True, slots=True)
class Ways:
    """The times of one machine's ways, s, for one study."""

    machine: Machine
    study: Study

    @property
    def count_s(self) -> float:
        """The warning before anything moves, once hands may have been in."""
        return float(self.study.cycle.countdown_s)

    def up_s(self, from_z_mm: float) -> float:
        """To the clear height."""
        return _STOPS_S + self._brisk_s(self.machine.clear_z_mm - from_z_mm)

    def down_s(self, to_z_mm: float) -> float:
        """From the clear height, the last of it slowly."""
        fall_mm = self.machine.clear_z_mm - to_z_mm
        slow_mm = min(fall_mm, _SLOW_MM)
        slow_s = slow_mm / self.machine.speeds.approach_mm_s
        return _STOPS_S + self._brisk_s(fall_mm - slow_mm) + slow_s

    def across_s(self, way_mm: float) -> float:
        """Sideways."""
        return _STOPS_S + way_mm / self.machine.speeds.sideways_mm_s

    def to_gauge_s(self) -> float:
        """From the nozzle over a point to what reads there."""
        tool = self.machine.probe if self._by_probe else self.machine.indicator
        return self.across_s(math.hypot(tool.offset_x_mm, tool.offset_y_mm)) if tool else 0.0

    def read_s(self) -> float:
        """Down to the reading, and settled there."""
        down_s = _TOUCH_S if self._by_probe else self.down_s(self._reads_at_mm)
        return down_s + self.study.cycle.settle_s

    def away_s(self) -> float:
        """Up from a reading."""
        return self.up_s(self.machine.clear_z_mm if self._by_probe else self._reads_at_mm)

    def between_points_s(self) -> float:
        """Going to another point for each trial, where the order is mixed: about."""
        points = [point for point in self.machine.points if point.name in self.study.points]
        if self.study.order is not Order.MIXED or not points:
            return 0.0
        ways_mm = [math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) for a in points for b in points]
        return sum(ways_mm) / len(ways_mm) / self.machine.speeds.sideways_mm_s

    @property
    def _by_probe(self) -> bool:
        return self.study.gauge.kind == "probe"

    @property
    def _reads_at_mm(self) -> float:
        return self.machine.indicator.reading_z_mm if self.machine.indicator else 0.0

    def _brisk_s(self, way_mm: float) -> float:
        return max(way_mm, 0.0) / self.machine.speeds.lift_mm_s


def reading_s(ways: Ways) -> float:
    """One reading with nothing set: away and back, and settled."""
    return (
        ways.count_s
        + ways.away_s()
        + 2 * ways.to_gauge_s()
        + ways.read_s()
        + ways.between_points_s()
    )


def setting_s(ways: Ways) -> float:
    """One reading with its setting: over the point, down to be set, up, across, down and read."""
    set_z_mm = ways.machine.set_z_mm
    turned_s = ways.count_s if ways.study.cycle.turn_away else 0.0
    return reading_s(ways) + turned_s + ways.down_s(set_z_mm) + ways.count_s + ways.up_s(set_z_mm)


def homing_s(ways: Ways) -> float:
    """Once: up, homed, dry cycles made, and parked at the end."""
    machine = ways.machine
    cycle_s = ways.away_s() + 2 * ways.to_gauge_s() + ways.read_s()
    park_s = ways.away_s() + ways.across_s(100.0) if machine.park else 0.0
    up_s = machine.clear_z_mm / machine.speeds.lift_mm_s
    return ways.count_s + up_s + _HOMING_S + machine.dry_cycles * cycle_s + park_s
