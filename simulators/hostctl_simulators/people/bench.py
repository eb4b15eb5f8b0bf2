"""What hands and eyes can do at a bare machine: the indicator on and off, a ruler, things that go
under the nozzle, a mark on the bed; and what its user knows of it from manual and ruler.
"""

from random import Random
from typing import Literal, Protocol, TypedDict

from hostctl_simulators.bed.screws import opposite
from hostctl_simulators.chance import stream
from hostctl_simulators.physical.mishaps import rooms_mm
from hostctl_simulators.physical.world import World

Side = Literal["left", "right", "front", "back"]
Under = Literal["bed", "nothing", "other"]
Tip = Literal["nozzle", "plunger"]
Way = Literal["up", "down"]
BY_EYE_MM = 5.0
RULER_MM = 0.5  # its graduation; with a hand that reads it, it is off by up to as much
NEAR_MM = 3.0  # nearer than this to the plunger is in its way
MARK_MM = 0.3  # how far off a mark may be judged to lie

BENCH_DEEDS = (
    "mounted",
    "mount_indicator",
    "take_indicator_off",
    "shows",
    "tip_below_nozzle_mm",
    "tip_above_bed_mm",
    "nozzle_above_bed_mm",
    "stands_mm",
    "room_mm",
    "under_plunger",
    "sticks_out_mm",
    "fix_closer",
    "goes_under",
    "make_mark",
    "mark_from",
    "turn_all_screws",
    "described",
)


class Screwed(TypedDict):
    """One bed screw, as a user would say where it is."""

    name: str
    x_mm: float
    y_mm: float


class Described(TypedDict):
    """A machine as its user knows it from manual and ruler. All lengths in mm."""

    name: str
    baud: int
    from_mm: list[float]  # x, y, z
    to_mm: list[float]
    highest_point_mm: float
    mains_bed: bool
    screws: list[Screwed]
    seen_from: Literal["above", "below"]
    pitch_mm: float
    resolution_mm: float
    travel_mm: float  # of the indicator
    rough_right_mm: float  # of the plunger, seen from the nozzle
    rough_back_mm: float


class BenchHands(Protocol):
    """Hands and eyes there. Each raises LookupError for what is not to be seen or done now."""

    def mounted(self) -> bool: ...
    def mount_indicator(self) -> None: ...
    def take_indicator_off(self) -> None: ...
    def shows(self) -> float: ...
    def tip_below_nozzle_mm(self) -> float: ...
    def tip_above_bed_mm(self) -> float: ...
    def nozzle_above_bed_mm(self) -> float: ...
    def stands_mm(self) -> tuple[float, float]: ...
    def room_mm(self, side: Side) -> float: ...
    def under_plunger(self) -> Under: ...
    def sticks_out_mm(self, side: Side) -> float: ...
    def fix_closer(self) -> None: ...
    def goes_under(self, thick_mm: float) -> bool: ...
    def make_mark(self) -> None: ...
    def mark_from(self, tip: Tip) -> tuple[float, float]: ...
    def turn_all_screws(self, degrees: float, way: Way) -> None: ...
    def described(self) -> Described: ...


class Bench:
    """Of a world in this process. Implements `BenchHands`."""

    def __init__(self, world: World) -> None:
        self._world = world
        self._looks = 0
        self._mark: tuple[float, float] | None = None

    # ------------------------------------------------------------ the indicator

    def mounted(self) -> bool:
        """Whether it is on the head."""
        return self._world.carries_indicator

    def mount_indicator(self) -> None:
        """Put it on the head. Raises LookupError where the machine has none."""
        if self._world.indicator is None:
            raise LookupError(f"{self._world.kind.name} has no dial indicator")
        self._world.indicator.mount()
        self._world.read_indicator()

    def take_indicator_off(self) -> None:
        """Lay it beside the machine."""
        if self._world.indicator is not None:
            self._world.indicator.take_off()

    def shows(self) -> float:
        """The number on it, mm."""
        return self._world.read_indicator()

    # ------------------------------------------------------------ a ruler

    def tip_below_nozzle_mm(self) -> float:
        """How far the free plunger's tip hangs below the nozzle."""
        self._world.read_indicator()
        assert self._world.indicator is not None
        return self._by_ruler(self._world.indicator.hangs_mm)

    def tip_above_bed_mm(self) -> float:
        """How high the tip is above the bed under it; 0 where it touches."""
        self._world.read_indicator()
        assert self._world.indicator is not None
        place = self._world.tips.plunger_at(self._world.head)
        hangs_mm = self._world.indicator.hangs_mm
        return self._by_ruler(max(self._above_bed_mm(place) - hangs_mm, 0.0))

    def nozzle_above_bed_mm(self) -> float:
        """How high the nozzle is above the bed under it."""
        here = self._world.head.x_mm, self._world.head.y_mm
        return self._by_ruler(max(self._above_bed_mm(here), 0.0))

    def stands_mm(self) -> tuple[float, float]:
        """How far right and back of the place where it homes the head stands, by eye."""
        kind, at = self._world.kind, self._world.head
        right_mm, back_mm = at.x_mm - kind.from_x_mm, at.y_mm - kind.from_y_mm
        return round(right_mm / BY_EYE_MM) * BY_EYE_MM, round(back_mm / BY_EYE_MM) * BY_EYE_MM

    def room_mm(self, side: Side) -> float:
        """The room beside the head, as it stands now, from its own side to the frame."""
        return self._by_ruler(rooms_mm(self._world.kind, self._world.head)[side])

    def under_plunger(self) -> Under:
        """What is under the plunger, or where it would be, once the nozzle is down at z 0."""
        kind, place = self._world.kind, self._world.tips.plunger_at(self._world.head)
        if self._world.surface.is_bed(*place):
            return "bed"
        hangs_mm = kind.indicator.hangs_mm if kind.indicator else 0.0
        return "other" if kind.rooms.below_mm < hangs_mm + NEAR_MM else "nothing"

    def sticks_out_mm(self, side: Side) -> float:
        """How far the indicator with its mount sticks out beyond the head on that side."""
        indicator = self._world.indicator
        return self._by_ruler(indicator.sticks_mm[side] if indicator else 0.0)

    def fix_closer(self) -> None:
        """Have it fixed closer to the head, its plunger where it was."""
        if self._world.indicator is not None:
            self._world.indicator.sticks_out_mm = self._world.indicator.kind.close_mm

    # ------------------------------------------------------------ under the nozzle

    def goes_under(self, thick_mm: float) -> bool:
        """Whether a stack of things so thick goes between nozzle and bed."""
        return thick_mm <= self._world.gap_mm()

    def make_mark(self) -> None:
        """A cross on the bed, right under the nozzle."""
        self._mark = self._world.head.x_mm, self._world.head.y_mm

    def mark_from(self, tip: Tip) -> tuple[float, float]:
        """How far to the right and to the back of the tip's foot the mark lies, mm."""
        if self._mark is None:
            raise LookupError("no mark is on the bed")
        if tip == "plunger":
            self._world.read_indicator()
        at = self._world.head
        foot = self._world.tips.plunger_at(at) if tip == "plunger" else (at.x_mm, at.y_mm)
        right, back = (
            self._judged(mark - below) for mark, below in zip(self._mark, foot, strict=True)
        )
        return right, back

    # ------------------------------------------------------------ the screws, and what is known

    def turn_all_screws(self, degrees: float, way: Way) -> None:
        """Each bed screw by so much, so that the bed goes up or down there: a hand sees which."""
        for name in self._world.screw_names():
            raises = self._world.raises_bed(name)
            direction = raises if way == "up" else opposite(raises)
            self._world.turn_screw(name, degrees, direction)

    def described(self) -> Described:
        """As it is, but for what only a ruler told: rounded to whole millimetres."""
        kind, indicator = self._world.kind, self._world.kind.indicator
        return Described(
            name=kind.name,
            baud=kind.baud,
            from_mm=[kind.from_x_mm, kind.from_y_mm, kind.lowest_z_mm],
            to_mm=[kind.to_x_mm, kind.to_y_mm, kind.size_z_mm],
            highest_point_mm=0.0,
            mains_bed=False,
            screws=[Screwed(name=s.name, x_mm=s.x_mm, y_mm=s.y_mm) for s in kind.bed.screws],
            seen_from="above",
            pitch_mm=kind.bed.screws[0].pitch_mm,
            resolution_mm=indicator.graduation_mm if indicator else 0.0,
            travel_mm=indicator.travel_mm if indicator else 0.0,
            rough_right_mm=round(indicator.offset_x_mm) if indicator else 0.0,
            rough_back_mm=round(indicator.offset_y_mm) if indicator else 0.0,
        )

    # ------------------------------------------------------------ how it comes about

    def _above_bed_mm(self, place: tuple[float, float]) -> float:
        """Of the nozzle; beside the bed to the height of its edge."""
        self._world.warm()
        return self._world.head.z_mm - self._world.surface.height_mm(*place)

    def _by_ruler(self, true_mm: float) -> float:
        """Rounded to the ruler's graduation, which adds up to half of it again."""
        off_mm = self._chance().uniform(-RULER_MM / 2, RULER_MM / 2)
        return max(round((true_mm + off_mm) / RULER_MM) * RULER_MM, 0.0)

    def _judged(self, true_mm: float) -> float:
        return round(true_mm + self._chance().uniform(-MARK_MM, MARK_MM), 1)

    def _chance(self) -> Random:
        self._looks += 1
        return stream(self._world.seed, f"a look/{self._looks}")
