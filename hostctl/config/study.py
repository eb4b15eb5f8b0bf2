"""The study file: methods, operators, points, trials, order, cycle, gauge, tolerance."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import AfterValidator, AliasChoices, Field, model_validator
from pydantic_core import PydanticKnownError

from hostctl.config.machine import Checked, Misplaced, Name, PositiveMm, named_twice
from hostctl.config.study_kind import STUDY_KINDS


def _installed(kind: str) -> str:
    names = STUDY_KINDS.names()
    if kind not in names:
        raise PydanticKnownError("enum", {"expected": ", ".join(f"'{name}'" for name in names)})
    return kind


KindName = Annotated[str, AfterValidator(_installed)]
"""What kind of study it is: one of those installed, as rig-check, comparison, probe-loop."""


class Order(StrEnum):
    """In which order trials come."""

    BLOCKED = "blocked"  # blocks in random order, the trials of a block together
    MIXED = "mixed"  # every trial of the study in one random order


class Reference(StrEnum):
    """What a block's readings are relative to."""

    FIRST = "first"
    PREVIOUS = "previous"
    DATUM = "datum"


class Method(Checked):
    """One way of setting the gap."""

    name: Name
    instruction: Annotated[str, Field(min_length=1, max_length=300)]


class TurnRange(Checked):
    """How far the operator is told to turn the screw away before each setting, degrees."""

    least_deg: Annotated[int, Field(ge=10, le=360)] = 60
    most_deg: Annotated[int, Field(ge=10, le=360)] = 180

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.most_deg < self.least_deg:
            raise ValueError("most_deg must not be below least_deg")
        return self


class Cycle(Checked):
    """The motions and pauses of one trial."""

    settle_s: Annotated[float, Field(ge=0, le=30)] = 3.0
    countdown_s: Annotated[int, Field(ge=0, le=30)] = 3  # 0 is taken by simulated machines only
    turn_away: Annotated[  # None: never
        TurnRange | None, Field(validation_alias=AliasChoices("turn_away", "disturb"))
    ] = TurnRange()
    probe_lift_mm: Annotated[float, Field(ge=2, le=20)] = 5.0


class Gauge(Checked):
    """Where a reading comes from."""

    kind: Name = "typed"
    resolution_mm: PositiveMm = 0.01
    typed_in_graduations: bool = False
    plausible_mm: PositiveMm = 0.5  # a reading further from zero than this is asked for again
    block_mm: Annotated[float, Field(ge=0, le=20)] = 0.0  # the gauge block of reference `datum`
    port: str | None = None  # for an indicator on a serial line of its own
    baud: Annotated[int, Field(ge=300)] = 9_600


class Tolerance(Checked):
    """What is good enough: at least `proportion` of settings within +/- `within_mm`."""

    within_mm: PositiveMm
    proportion: Annotated[float, Field(gt=0.5, lt=1)] = 0.95
    confidence: Annotated[float, Field(gt=0.5, lt=1)] = 0.95


class Warmth(Checked):
    """A bed temperature the study asks for; heaters stay off without it."""

    bed_c: Annotated[float, Field(gt=0, le=110)]
    soak_s: Annotated[float, Field(ge=0, le=7200)] = 900.0


class Study(Checked):
    """The plan."""

    study: Name
    title: Annotated[str, Field(min_length=1, max_length=120)]
    kind: KindName
    methods: list[Method] = Field(default_factory=list)
    operators: list[Name] = Field(default_factory=list)
    points: Annotated[list[Name], Field(min_length=1)]
    trials: Annotated[int, Field(ge=1, le=10_000)]
    order: Order = Order.BLOCKED
    reference: Reference = Reference.FIRST
    cycle: Cycle = Cycle()
    gauge: Gauge = Gauge()
    tolerance: Tolerance | None = None
    warmth: Warmth | None = None
    seed: Annotated[int, Field(ge=0)] | None = None  # None: drawn at the start and recorded

    @model_validator(mode="after")
    def _as_its_kind_has_it(self) -> Self:
        STUDY_KINDS.find(self.kind).check(self)
        return self

    @model_validator(mode="after")
    def _reference_possible(self) -> Self:
        if self.reference is Reference.PREVIOUS and self.order is Order.MIXED:
            raise Misplaced("must be blocked, as reference: previous compares neighbours", "order")
        if self.reference is Reference.PREVIOUS and self.gauge.kind == "probe":
            raise Misplaced("previous needs a gauge that is zeroed by hand", "reference")
        return self

    @model_validator(mode="after")
    def _named_apart(self) -> Self:
        for what, names in (
            ("methods", [method.name for method in self.methods]),
            ("operators", self.operators),
            ("points", self.points),
        ):
            for index, name in named_twice(names):
                raise Misplaced(f"'{name}' is named twice", what, index)
        return self
