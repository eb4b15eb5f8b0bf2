"""The machine file: one printer, its port, travel, safe height, bed screws and dialect."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import AliasChoices, Field, model_validator

from hostctl.config.checked import Checked, Misplaced, Mm, Name, PositiveMm, Told, named_twice
from hostctl.config.parts.outputs import Door, InputReads, Output

SCREW_OUTSIDE_MM = 50.0
"""A screw may stand so far beside the travel; further off it is a slip of the pen (our choice)."""

TravelLeft = Annotated[float, Field(ge=0, allow_inf_nan=False)] | None


class Span(Checked):
    """From where to where the nozzle may go along one axis."""

    from_mm: Mm
    """One end of the axis."""
    to_mm: Mm
    """The other end; must be above `from_mm`."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.to_mm <= self.from_mm:
            raise ValueError("to_mm must be above from_mm")
        return self

    def __contains__(self, value_mm: float) -> bool:
        return self.from_mm <= value_mm <= self.to_mm

    def __str__(self) -> str:
        return f"{self.from_mm:g} to {self.to_mm:g} mm"


class Travel(Checked):
    """The space the nozzle may be in: from the maker's manual, never more than the real travel."""

    x: Span
    y: Span
    z: Span


class Turn(StrEnum):
    """Which way a bed screw is turned, seen from above."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class SeenFrom(StrEnum):
    """From where one looks at a screw while turning it."""

    ABOVE = "above"
    """At its head, from above the bed."""
    BELOW = "below"
    """At its knob or nut, from under the bed."""


class BedScrew(Checked):
    """The screws under the bed, each with a name of its own."""

    name: Name
    """Its name, as the operator is told it. At each point the nearest screw is turned."""
    x_mm: Mm
    """Where it is; at most 50 mm outside the travel."""
    y_mm: Mm
    """Where it is; at most 50 mm outside the travel."""
    pitch_mm: PositiveMm = 0.7
    """How far one turn moves the bed: 0.7 is M4 coarse (ISO 261)."""
    raises_bed: Turn = Turn.CLOCKWISE
    """Which way of turning raises the bed there, seen from above."""
    seen_from: SeenFrom = SeenFrom.ABOVE
    """Where one stands when turning: from below, directions are told the other
    way round."""
    can_raise_mm: Annotated[TravelLeft, Told(left_out="not known")] = None
    """How much further it can raise the bed as it stands. Measure it, and leave
    a turn over so that the screw stays in its thread."""
    can_lower_mm: Annotated[TravelLeft, Told(left_out="not known")] = None
    """How much further it can lower the bed as it stands, until springs are
    pressed together."""


class Point(Checked):
    """Named places on the bed, usually over its screws, each with a name of its own."""

    name: Name
    """Its name in studies and records."""
    x_mm: Mm
    """Where it is; within the travel."""
    y_mm: Mm
    """Where it is; within the travel."""


class Speeds(Checked):
    """How fast the head goes; the shipped caps are those of a careful bench."""

    sideways_mm_s: Annotated[float, Field(ge=10, le=100)] = 50.0
    """Between points; faster gains nothing and shakes more."""
    lift_mm_s: Annotated[float, Field(gt=0, le=20)] = 5.0
    """Straight up and down, above the approach."""
    approach_mm_s: Annotated[float, Field(ge=0.5, le=3)] = 1.0
    """The last 2 mm down; slow enough to react."""


class Indicator(Checked):
    """The dial indicator on the head. Every point must be within its reach."""

    offset_x_mm: Mm = 0.0
    """Where its plunger is, seen from the nozzle."""
    offset_y_mm: Mm = 0.0
    """Where its plunger is, seen from the nozzle."""
    reading_z_mm: Annotated[float, Field(ge=0, allow_inf_nan=False)] = 5.0
    """Nozzle height at which the plunger rests on the bed with its pre-load; within the z travel.
    Find it by lowering the head by hand until the plunger is pressed in by `pre_load_mm`."""
    pre_load_mm: Annotated[float, Field(ge=0.2, le=1.0)] = 0.5
    """Pressed in this far at the reading height, so that the plunger is off its stops both ways
    (choice ours; see JIS B 7503 limits)."""
    travel_mm: PositiveMm = 10.0
    """Of the plunger. Where the nozzle is at z = 0 it is pushed in by `reading_z_mm` +
    `pre_load_mm`, which must leave some travel over."""


class Probe(Checked):
    """The machine's own touch probe. Every point must be within its reach."""

    offset_x_mm: Mm = 0.0
    """Where its tip is, seen from the nozzle."""
    offset_y_mm: Mm = 0.0
    """Where its tip is, seen from the nozzle."""
    resolution_mm: PositiveMm = 0.0025
    """The step its heights come in: one microstep of a screw with 8 mm lead."""
    deepest_z_mm: Mm = -2.0
    """Probing goes no deeper than this."""
    free_when: Annotated[InputReads | None, Told(left_out="it is not looked at")] = None
    """What shows that it touches nothing; looked at before each touch, so that
    one that is stuck is never driven down."""


class Heat(Checked):
    """How long heating may take, and what is too hot to have hands near. Heaters stay off unless a
    study asks for a warm bed."""

    longest_s: Annotated[float, Field(gt=0, le=3600)] = 900.0
    """Heating that takes longer than this is a fault."""
    hottest_nozzle_c: Annotated[float, Field(gt=0, le=50)] = 50.0
    """Hotter than this, no run starts: hands are near the nozzle."""
    hottest_bed_c: Annotated[float, Field(gt=0, le=110)] = 60.0
    """The warmest bed a study may ask for; no run starts with a hotter one. Hands work near it, and
    a bed as warm as that burns."""
    mains_bed: Annotated[bool | None, Told(left_out="not known")] = None
    """Whether the bed is heated by mains voltage. Only where it is said not to be may the nozzle be
    wired for a tie by touch: see the maker's manual."""


class ResendsAllowed(Checked):
    """How noisy the serial line may be before the run is held."""

    most_resends: Annotated[int, Field(ge=1), Told(unit="lines")] = 10
    """More lines than this sent again hold the run; must be below `among_lines`."""
    among_lines: Annotated[int, Field(ge=10, le=1000), Told(unit="lines")] = 100
    """Among this many of the last lines."""

    @model_validator(mode="after")
    def _can_be_exceeded(self) -> Self:
        if self.most_resends >= self.among_lines:
            raise Misplaced(f"must be below among_lines, {self.among_lines}", "most_resends")
        return self


class Machine(Checked):
    """One printer."""

    machine: Name
    """Its name in every record."""
    port: Annotated[str, Field(min_length=1), Told(allowed="a device or a URL")]
    """Where the printer is: a stable device name as `hostctl ports` lists it (others change places
    when something is plugged in), `socket://host:port`, or `sim://…` for a simulated one."""
    baud: Annotated[int, Field(ge=1200, le=4_000_000), Told(unit="bits/s")] = 115_200
    """Speed of the serial line; 115200 or 250000 on most boards: see the maker's manual."""
    reset_on_open: bool = True
    """Whether opening the port resets the board; false: try to open it without a reset."""
    dialect: Annotated[
        Name | None,
        Told(allowed="`classic`, `terse` or a plug-in's", left_out="learned from what it says"),
    ] = None
    """How the controller words what it says; it is asked with M115."""
    travel: Travel
    lift_mm: Annotated[float, Field(ge=2, le=20)] = 5.0
    """Sideways moves happen this far above the highest known point, which clears clips, warp and
    the plunger (common practice, no source)."""
    highest_point_mm: Annotated[float, Field(ge=0, le=20)] = 0.0
    """Clips or anything else that stands above z = 0."""
    set_z_mm: Annotated[float, Field(ge=0, le=2)] = 0.0
    """Nozzle height at which the gap is set; within the z travel."""
    position_tolerance_mm: Annotated[float, Field(gt=0, le=0.5)] = 0.02
    """How far the reported position may be from the ordered one."""
    speeds: Speeds = Speeds()
    points: Annotated[list[Point], Field(min_length=1)]
    screws: list[BedScrew] = Field(default_factory=list)
    indicator: Indicator | None = None
    probe: Probe | None = None
    outputs: list[Output] = Field(default_factory=list)
    door: Annotated[Door | None, Told(left_out="no door is looked at")] = None
    park: Annotated[Point | None, Told(left_out="it stays at the clear height")] = None
    """Where the head waits when a run is over."""
    heat: Heat = Heat()
    noise: ResendsAllowed = ResendsAllowed()
    dry_cycles: Annotated[
        int,
        Field(ge=0, le=10, validation_alias=AliasChoices("dry_cycles", "warm_up_cycles")),
        Told(unit="cycles"),
    ] = 5
    """Cycles at the start that are not counted, so that grease and screws settle (ISO 230-2 asks
    for a stated warm-up; the number is ours)."""

    @property
    def simulated(self) -> bool:
        """Whether nothing real is at its port."""
        return self.port.startswith("sim://")

    @property
    def clear_z_mm(self) -> float:
        """The height at or above which the head may go sideways.

        Counted from the nozzle, and from the plunger where an indicator hangs below it.
        """
        hangs_mm = self.indicator.reading_z_mm if self.indicator else 0.0
        return self.highest_point_mm + hangs_mm + self.lift_mm

    @model_validator(mode="after")
    def _named_apart(self) -> Self:
        for what in ("points", "screws", "outputs"):
            for index, name in named_twice(part.name for part in getattr(self, what)):
                raise Misplaced(f"another one is called '{name}' too", what, index, "name")
        return self

    @model_validator(mode="after")
    def _within_travel(self) -> Self:
        for index, point in enumerate(self.points):
            self._check_spot(point, 0.0, "points", index)
        for index, screw in enumerate(self.screws):
            self._check_spot(screw, SCREW_OUTSIDE_MM, "screws", index)
        if self.park is not None:
            self._check_spot(self.park, 0.0, "park")
        self._check_height(self.set_z_mm, "set_z_mm")
        if self.indicator is not None:
            self._check_height(self.indicator.reading_z_mm, "indicator", "reading_z_mm")
        if self.clear_z_mm not in self.travel.z:
            what = f"the clear height {self.clear_z_mm:g} mm lies outside it"
            raise Misplaced(what, "travel", "z")
        return self

    @model_validator(mode="after")
    def _plunger_has_room(self) -> Self:
        if self.indicator is not None:
            tip = self.indicator
            pushed_mm = tip.reading_z_mm + tip.pre_load_mm
            if pushed_mm >= tip.travel_mm:
                what = (
                    f"the plunger would be pushed in {pushed_mm:g} mm where the nozzle is at z = 0"
                )
                raise Misplaced(f"{what}, its whole travel", "indicator", "travel_mm")
        return self

    @model_validator(mode="after")
    def _within_reach(self) -> Self:
        for what, tool in (("indicator", self.indicator), ("probe", self.probe)):
            if tool is not None:
                self._check_reach(what, tool)
        return self

    def _check_reach(self, what: str, tool: Indicator | Probe) -> None:
        for point in self.points:
            for axis, at_mm, span in (
                ("x", point.x_mm - tool.offset_x_mm, self.travel.x),
                ("y", point.y_mm - tool.offset_y_mm, self.travel.y),
            ):
                if at_mm not in span:
                    missed = f"it can't reach point '{point.name}' within the travel"
                    raise Misplaced(missed, what, f"offset_{axis}_mm")

    def _check_spot(self, spot: Point | BedScrew, beyond_mm: float, *at: str | int) -> None:
        """The place must be within the travel, or at most `beyond_mm` outside it."""
        for axis, at_mm, span in (
            ("x", spot.x_mm, self.travel.x),
            ("y", spot.y_mm, self.travel.y),
        ):
            if not span.from_mm - beyond_mm <= at_mm <= span.to_mm + beyond_mm:
                lies = f"lies over {beyond_mm:g} mm outside" if beyond_mm else "lies outside"
                what = f"'{spot.name}' {lies} the {axis} travel, {span}"
                raise Misplaced(what, *at, f"{axis}_mm")

    def _check_height(self, z_mm: float, *at: str) -> None:
        if z_mm not in self.travel.z:
            raise Misplaced(f"{z_mm:g} mm lies outside the z travel, {self.travel.z}", *at)
