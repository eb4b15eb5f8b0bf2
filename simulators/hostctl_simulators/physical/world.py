"""The physical side: a head that moves over a bed, and what a hand can do and see there.

The world knows nothing of lines and commands. It moves its head where the motors take it, bends
to nothing, and counts as a crash whatever a bench would hear.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, hypot, inf

from hostctl_simulators.chance import normal, stream
from hostctl_simulators.physical.bed import Bed, Direction
from hostctl_simulators.physical.heater import BED, NOZZLE, Heater
from hostctl_simulators.physical.indicator import Indicator
from hostctl_simulators.physical.printers import PrinterKind, Truth

PRESSED_HARD_MM = 0.05  # a touch gives a little; deeper than this is a crash
CLOSE_MM = 0.5  # nothing may pass sideways over the bed closer than this
EDGE_MM = 3.0  # the plate ends so far inside the travel: the nozzle homes beside it
SAMPLE_MM = 5.0  # how finely a path is looked at


class Mishap(StrEnum):
    """What a crash was."""

    NOZZLE_INTO_BED = "nozzle into the bed"
    NOZZLE_ACROSS_BED = "nozzle across the bed"
    PLUNGER_ACROSS_BED = "plunger across the bed"
    PLUNGER_BOTTOMED = "plunger at the end of its travel"
    AGAINST_FRAME = "against the frame"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place in the machine, mm; z is the nozzle's height."""

    x_mm: float
    y_mm: float
    z_mm: float

    def towards(self, other: "Spot", part: float) -> "Spot":
        """The spot that lies `part` (0 to 1) of the way to `other`."""
        return Spot(
            x_mm=self.x_mm + (other.x_mm - self.x_mm) * part,
            y_mm=self.y_mm + (other.y_mm - self.y_mm) * part,
            z_mm=self.z_mm + (other.z_mm - self.z_mm) * part,
        )

    def sideways_mm(self, other: "Spot") -> float:
        """How far `other` is away in the plane of the bed."""
        return hypot(other.x_mm - self.x_mm, other.y_mm - self.y_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crash:
    """One mishap, where it was worst."""

    what: Mishap
    at: Spot
    depth_mm: float


class World:
    """One printer's physical side. Implements `Hands`."""

    def __init__(
        self, kind: PrinterKind, seed: int, clock: Callable[[], float] = lambda: 0.0
    ) -> None:
        chance = stream(seed, "where the head was left")
        self.kind = kind
        self.seed = seed
        self.truth = Truth(kind)
        self.bed = Bed(kind.bed, seed)
        self.indicator = Indicator(kind.indicator, seed) if kind.indicator else None
        self.bed_heater = Heater(BED)
        self.nozzle_heater = Heater(NOZZLE)
        self.crashes: list[Crash] = []
        self.head = Spot(
            x_mm=round(chance.uniform(40, kind.size_x_mm - 40), 2),
            y_mm=round(chance.uniform(40, kind.size_y_mm - 40), 2),
            z_mm=round(chance.uniform(12, 20), 2),
        )
        self.descents = 0
        self.touches = 0
        self.touch_fails: Callable[[], bool] = lambda: False
        self.homings = 0
        self._clock = clock
        self._descending = False
        self._return_error_mm = 0.0
        self._block_mm = 0.0

    # ------------------------------------------------------------ what the motors do

    def move_head(self, to: Spot) -> None:
        """The motors take the head straight to `to`."""
        self.warm()
        goal = self._within_frame(to)
        self._note_direction(goal.z_mm)
        start, self.head = self.head, goal
        self._look_along(start, goal)
        self._press_indicator()

    def touch(self, x_mm: float, y_mm: float) -> float:
        """Where the probe feels the bed, mm above the machine's z = 0, one touch."""
        self.warm()
        self.touches += 1
        sigma_mm = self.truth.probe_sigma_mm or 0.0
        scatter_mm = sigma_mm * normal(self.seed, "probe", self.touches)
        return self.bed.height_mm(x_mm, y_mm) + scatter_mm

    def home_error_mm(self) -> float:
        """By how much this homing misses z = 0."""
        self.homings += 1
        return self.kind.home_z_mm * normal(self.seed, "homing", self.homings)

    def warm(self) -> None:
        """Bring the heat up to now."""
        now_s = self._clock()
        self.nozzle_heater.pass_time(now_s)
        self.bed_heater.pass_time(now_s)
        self.bed.soaked_c = self.bed_heater.soaked_c

    # ------------------------------------------------------------ what a hand does and sees

    def screw_names(self) -> list[str]:
        """The screws under the bed."""
        return [screw.name for screw in self.kind.bed.screws]

    def nearest_screw(self) -> str:
        """The screw that moves the bed most where the nozzle is."""
        shares = self.bed.shares(self.head.x_mm, self.head.y_mm)
        return max(shares, key=lambda name: shares[name])

    def turn_screw(self, name: str, degrees: float, direction: Direction) -> None:
        """Turn a screw; clockwise raises the bed there. Raises KeyError for an unknown name."""
        self.bed.turn(name, degrees, direction)
        self._look_along(self.head, self.head)
        self._press_indicator()

    def gap_mm(self) -> float:
        """The gap between nozzle and bed, as it truly is now; negative: pressed together."""
        self.warm()
        height_mm = self.bed.height_mm(self.head.x_mm, self.head.y_mm)
        return self.head.z_mm + self._return_error_mm - height_mm

    def read_indicator(self) -> float:
        """What an eye reads on the indicator, mm. Raises LookupError where none is fitted."""
        return self._fitted_indicator().reading_mm

    def zero_indicator(self) -> None:
        """Turn the bezel to zero. Raises LookupError where no indicator is fitted."""
        self._fitted_indicator().set_zero()

    def lay_block(self, thick_mm: float) -> None:
        """Lay a gauge block on the bed under the plunger; 0 takes it away."""
        self._block_mm = thick_mm
        self._press_indicator()

    # ------------------------------------------------------------ how it comes about

    def _fitted_indicator(self) -> Indicator:
        if self.indicator is None:
            raise LookupError(f"{self.kind.name} carries no dial indicator")
        self._press_indicator()
        return self.indicator

    def _within_frame(self, to: Spot) -> Spot:
        inside = Spot(
            x_mm=min(max(to.x_mm, -2.0), self.kind.size_x_mm + 2.0),
            y_mm=min(max(to.y_mm, -2.0), self.kind.size_y_mm + 2.0),
            z_mm=min(max(to.z_mm, -5.0), self.kind.size_z_mm + 2.0),
        )
        if inside != to:
            self.crashes.append(Crash(what=Mishap.AGAINST_FRAME, at=inside, depth_mm=0.0))
        return inside

    def _note_direction(self, z_mm: float) -> None:
        """A lead screw comes to rest a little differently each time it turns downward again."""
        if z_mm < self.head.z_mm and not self._descending:
            self._descending = True
            self.descents += 1
            error = normal(self.seed, "return of z", self.descents)
            self._return_error_mm = self.kind.z_return_mm * error
        elif z_mm > self.head.z_mm:
            self._descending = False

    def _over_plate(self, x_mm: float, y_mm: float) -> bool:
        far_x_mm, far_y_mm = self.kind.size_x_mm - EDGE_MM, self.kind.size_y_mm - EDGE_MM
        return EDGE_MM <= x_mm <= far_x_mm and EDGE_MM <= y_mm <= far_y_mm

    def _depth_mm(self, at: Spot) -> float:
        """How deep the nozzle is in the bed; negative: clear of it."""
        if not self._over_plate(at.x_mm, at.y_mm):
            return -inf
        return self.bed.height_mm(at.x_mm, at.y_mm) - (at.z_mm + self._return_error_mm)

    def _pressed_mm(self, at: Spot) -> float:
        """How far the plunger is pushed in at `at`; 0 where it hangs free or none is fitted."""
        if self.indicator is None:
            return 0.0
        kind = self.indicator.kind
        x_mm, y_mm = at.x_mm + kind.offset_x_mm, at.y_mm + kind.offset_y_mm
        if not self._over_plate(x_mm, y_mm):
            return 0.0
        below_mm = self.bed.height_mm(x_mm, y_mm) + self._block_mm
        return max(0.0, below_mm - (at.z_mm + self._return_error_mm - kind.hangs_mm))

    def _press_indicator(self) -> None:
        if self.indicator is not None:
            self.warm()
            self.indicator.press(self._pressed_mm(self.head))

    def _look_along(self, start: Spot, goal: Spot) -> None:
        """Count the worst mishap of one straight move."""
        hangs_mm = self.kind.indicator.hangs_mm if self.kind.indicator else 0.0
        highest_mm = max(self.bed.heights_mm.values()) + 1.0
        if min(start.z_mm, goal.z_mm) - hangs_mm > highest_mm:
            return
        sideways_mm = start.sideways_mm(goal)
        pieces = ceil(sideways_mm / SAMPLE_MM) or 1
        worst: Crash | None = None
        for piece in range(pieces + 1):
            found = self._mishap_at(start.towards(goal, piece / pieces), sideways_mm > 0)
            if found is not None and (worst is None or found.depth_mm > worst.depth_mm):
                worst = found
        if worst is not None:
            self.crashes.append(worst)

    def _mishap_at(self, at: Spot, sideways: bool) -> Crash | None:
        depth_mm = self._depth_mm(at)
        pressed_mm = self._pressed_mm(at)
        if depth_mm > PRESSED_HARD_MM:
            return Crash(what=Mishap.NOZZLE_INTO_BED, at=at, depth_mm=depth_mm)
        if sideways and depth_mm > -CLOSE_MM:
            return Crash(what=Mishap.NOZZLE_ACROSS_BED, at=at, depth_mm=depth_mm)
        if sideways and pressed_mm > 0:
            return Crash(what=Mishap.PLUNGER_ACROSS_BED, at=at, depth_mm=pressed_mm)
        if self.kind.indicator is not None and pressed_mm > self.kind.indicator.travel_mm:
            return Crash(what=Mishap.PLUNGER_BOTTOMED, at=at, depth_mm=pressed_mm)
        return None
