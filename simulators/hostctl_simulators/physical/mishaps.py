"""What a bench would hear: the head against the bed, and all else that must not happen."""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from hostctl_simulators.bed.bed import Bed
from hostctl_simulators.physical.indicator import Indicator
from hostctl_simulators.physical.printers import PrinterKind
from hostctl_simulators.physical.spot import Spot
from hostctl_simulators.physical.surface import Surface
from hostctl_simulators.physical.tips import Tips

PRESSED_HARD_MM = 0.05  # a touch gives a little; deeper than this is a crash
CLOSE_MM = 0.5  # nothing may pass sideways over the bed closer than this
ROUNDED_MM = 1e-6  # less is no way: what sums of decimals are off by
SAMPLE_MM = 5.0  # how finely a path is looked at
HOMING_PLACE_MM = 3.0  # so far about it the head is at its homing place


class Mishap(StrEnum):
    """What a crash was."""

    NOZZLE_INTO_BED = "nozzle into the bed"
    NOZZLE_ACROSS_BED = "nozzle across the bed"
    PLUNGER_ACROSS_BED = "plunger across the bed"
    PLUNGER_BOTTOMED = "plunger at the end of its travel"
    AGAINST_FRAME = "against the frame"
    INDICATOR_AGAINST_FRAME = "indicator against the frame"
    HOMED_WITH_THINGS_IN = "homed with leads, plate or block in the machine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Crash:
    """One mishap, where it was worst."""

    what: Mishap
    at: Spot
    depth_mm: float


def rooms_mm(kind: PrinterKind, at: Spot) -> dict[str, float]:
    """How far the frame stands from the head's sides, the head there."""
    return {
        "left": at.x_mm - kind.from_x_mm + kind.rooms.left_mm,
        "right": kind.to_x_mm - at.x_mm + kind.rooms.right_mm,
        "front": at.y_mm - kind.from_y_mm + kind.rooms.front_mm,
        "back": kind.to_y_mm - at.y_mm + kind.rooms.back_mm,
    }


class Lookout:
    """Looks along each move."""

    def __init__(
        self,
        bed: Bed,
        surface: Surface,
        tips: Tips,
        indicator: Indicator | None,
        kind: PrinterKind,
    ) -> None:
        self.crashes: list[Crash] = []
        self.deepest_mm = 0.0  # the nozzle in bed or plate, however little
        self._bed = bed
        self._surface = surface
        self._tips = tips
        self._indicator = indicator
        self._kind = kind

    def note(self, what: Mishap, at: Spot) -> None:
        """This happened, and has no depth."""
        self.crashes.append(Crash(what=what, at=at, depth_mm=0.0))

    def look_along(self, start: Spot, goal: Spot) -> None:
        """Count the worst mishap of one straight move."""
        self._look_at_frame(goal)
        hangs_mm = self._indicator.hangs_mm if self._indicator else 0.0
        highest_mm = max(self._bed.heights_mm.values()) + 1.0 + self._surface.stands_mm
        if min(start.z_mm, goal.z_mm) - hangs_mm > highest_mm:
            return
        sideways_mm = start.sideways_mm(goal)
        pieces = ceil(sideways_mm / SAMPLE_MM) or 1
        worst: Crash | None = None
        for piece in range(pieces + 1):
            found = self._mishap_at(start.towards(goal, piece / pieces), sideways_mm > ROUNDED_MM)
            if found is not None and (worst is None or found.depth_mm > worst.depth_mm):
                worst = found
        if worst is not None:
            self.crashes.append(worst)

    def _look_at_frame(self, at: Spot) -> None:
        """Whether the indicator meets what stands around the head there."""
        if self._indicator is None or not self._indicator.mounted:
            return
        rooms, sticks = rooms_mm(self._kind, at), self._indicator.sticks_mm
        deep_mm = max(sticks[side] - rooms[side] for side in sticks)
        if self._homes_at(at):
            hangs_mm = self._indicator.hangs_mm - at.z_mm
            deep_mm = max(deep_mm, hangs_mm - self._kind.rooms.below_mm)
        if deep_mm > 0:
            what = Mishap.INDICATOR_AGAINST_FRAME
            self.crashes.append(Crash(what=what, at=at, depth_mm=deep_mm))

    def _homes_at(self, at: Spot) -> bool:
        """Whether that is the homing place, and no bed under the plunger."""
        kind = self._kind
        if max(at.x_mm - kind.from_x_mm, at.y_mm - kind.from_y_mm) > HOMING_PLACE_MM:
            return False
        return not self._surface.is_bed(*self._tips.plunger_at(at))

    def _mishap_at(self, at: Spot, sideways: bool) -> Crash | None:
        depth_mm = self._tips.depth_mm(at)
        pressed_mm = self._tips.pressed_mm(at)
        self.deepest_mm = max(self.deepest_mm, depth_mm)
        if depth_mm > PRESSED_HARD_MM:
            return Crash(what=Mishap.NOZZLE_INTO_BED, at=at, depth_mm=depth_mm)
        if sideways and depth_mm > -CLOSE_MM:
            return Crash(what=Mishap.NOZZLE_ACROSS_BED, at=at, depth_mm=depth_mm)
        if sideways and pressed_mm > 0:
            return Crash(what=Mishap.PLUNGER_ACROSS_BED, at=at, depth_mm=pressed_mm)
        if self._indicator is not None and pressed_mm > self._indicator.kind.travel_mm:
            return Crash(what=Mishap.PLUNGER_BOTTOMED, at=at, depth_mm=pressed_mm)
        return None
