"""The machine file: one printer, its port, travel, safe height, bed screws and dialect."""

from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import Annotated, Self

from pydantic import AliasChoices, BaseModel, ConfigDict, Field, model_validator

Mm = Annotated[float, Field(allow_inf_nan=False)]
PositiveMm = Annotated[float, Field(gt=0, allow_inf_nan=False)]
SCREW_OUTSIDE_MM = 50.0
"""A screw may stand so far beside the travel; further off it is a slip of the pen (our choice)."""

Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]


class Checked(BaseModel):
    """What every part of a file is: frozen, nothing unknown in it, no silent conversions."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Misplaced(ValueError):
    """A mistake of one key that only shows beside others. at: the way from the section to it.

    next_step: what to do about it; empty where that is plain.
    """

    def __init__(self, what: str, *at: str | int, next_step: str = "") -> None:
        super().__init__(what)
        self.at = at
        self.next_step = next_step


class Span(Checked):
    """From where to where an axis may go."""

    from_mm: Mm
    to_mm: Mm

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
    """The space the nozzle may be in."""

    x: Span
    y: Span
    z: Span


class Turn(StrEnum):
    """Which way a bed screw is turned, seen from above."""

    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class BedScrew(Checked):
    """A screw under the bed."""

    name: Name
    x_mm: Mm
    y_mm: Mm
    pitch_mm: PositiveMm = 0.7  # M4 coarse, ISO 261
    raises_bed: Turn = Turn.CLOCKWISE  # the way that raises the bed there, seen from above


class Point(Checked):
    """A named place on the bed, usually over a bed screw."""

    name: Name
    x_mm: Mm
    y_mm: Mm


class Speeds(Checked):
    """How fast the head goes; the shipped caps are those of a careful bench."""

    sideways_mm_s: Annotated[float, Field(ge=10, le=100)] = 50.0
    lift_mm_s: Annotated[float, Field(gt=0, le=20)] = 5.0
    approach_mm_s: Annotated[float, Field(ge=0.5, le=3)] = 1.0


class Indicator(Checked):
    """The dial indicator on the head: where its plunger is, seen from the nozzle."""

    offset_x_mm: Mm = 0.0
    offset_y_mm: Mm = 0.0
    # The nozzle's height at which the plunger rests on the bed with its pre-load.
    reading_z_mm: Annotated[float, Field(ge=0, allow_inf_nan=False)] = 5.0
    pre_load_mm: Annotated[float, Field(ge=0.2, le=1.0)] = 0.5
    travel_mm: PositiveMm = 10.0  # of the plunger


class Probe(Checked):
    """The machine's own touch probe."""

    offset_x_mm: Mm = 0.0
    offset_y_mm: Mm = 0.0
    resolution_mm: PositiveMm = 0.0025
    deepest_z_mm: Mm = -2.0


class Heat(Checked):
    """How long heating may take, and what is too hot to have hands near."""

    longest_s: Annotated[float, Field(gt=0, le=3600)] = 900.0
    hottest_nozzle_c: Annotated[float, Field(gt=0, le=50)] = 50.0
    hottest_bed_c: Annotated[float, Field(gt=0, le=110)] = 60.0


class Noise(Checked):
    """How noisy the serial line may be before the run is held."""

    most_resends: Annotated[int, Field(ge=1)] = 10
    among_lines: Annotated[int, Field(ge=10, le=1000)] = 100

    @model_validator(mode="after")
    def _can_be_exceeded(self) -> Self:
        if self.most_resends >= self.among_lines:
            raise Misplaced(f"must be below among_lines, {self.among_lines}", "most_resends")
        return self


class Machine(Checked):
    """One printer."""

    machine: Name
    port: Annotated[str, Field(min_length=1)]
    baud: Annotated[int, Field(ge=1200, le=4_000_000)] = 115_200
    reset_on_open: bool = True
    dialect: Name | None = None  # None: asked of the machine with M115
    travel: Travel
    lift_mm: Annotated[float, Field(ge=2, le=20)] = 5.0  # above the highest known point
    highest_point_mm: Annotated[float, Field(ge=0, le=20)] = 0.0  # clips and the like, above z = 0
    set_z_mm: Annotated[float, Field(ge=0, le=2)] = 0.0  # nozzle height at which the gap is set
    position_tolerance_mm: Annotated[float, Field(gt=0, le=0.5)] = 0.02
    speeds: Speeds = Speeds()
    points: Annotated[list[Point], Field(min_length=1)]
    screws: list[BedScrew] = Field(default_factory=list)
    indicator: Indicator | None = None
    probe: Probe | None = None
    park: Point | None = None
    heat: Heat = Heat()
    noise: Noise = Noise()
    dry_cycles: Annotated[
        int, Field(ge=0, le=10, validation_alias=AliasChoices("dry_cycles", "warm_up_cycles"))
    ] = 5

    @property
    def clear_z_mm(self) -> float:
        """The height at or above which the head may go sideways.

        Counted from the nozzle, and from the plunger where an indicator hangs below it.
        """
        hangs_mm = self.indicator.reading_z_mm if self.indicator else 0.0
        return self.highest_point_mm + hangs_mm + self.lift_mm

    @model_validator(mode="after")
    def _named_apart(self) -> Self:
        for what in ("points", "screws"):
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


def named_twice(names: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Each name that was there before, with its place in the list."""
    seen: set[str] = set()
    for index, name in enumerate(names):
        if name in seen:
            yield index, name
        seen.add(name)
