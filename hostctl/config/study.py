"""The study file: methods, operators, points, trials, order, cycle, gauge, tolerance."""

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import AfterValidator, AliasChoices, Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema, PydanticKnownError

from hostctl.config.checked import Checked, Misplaced, Name, PositiveMm, Told, named_twice
from hostctl.config.parts.axis import AxisTest
from hostctl.config.parts.gauge import Gauge
from hostctl.config.parts.level import Level
from hostctl.config.parts.loop import Loop
from hostctl.config.parts.tie import GoesBy, Tie
from hostctl.config.study_kind import STUDY_KINDS, words_of
from hostctl.records import TIE_METHOD


def _installed(kind: str) -> str:
    names = STUDY_KINDS.names()
    if kind not in names:
        raise PydanticKnownError("enum", {"expected": ", ".join(f"'{name}'" for name in names)})
    return kind


class _Told:
    """The kinds installed, for the reference."""

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        kinds = {kind: words_of(kind).about for kind in STUDY_KINDS.names()}
        return {**handler(core), "enum": list(kinds), "x-words": kinds}


KindName = Annotated[str, AfterValidator(_installed), _Told()]
"""A kind of study that is installed: rig-check, comparison, probe-loop, or a stranger's."""


class Order(StrEnum):
    """In which order trials come."""

    BLOCKED = "blocked"
    """Blocks in random order, the trials of a block together; where person or method changes, that
    is asked for first."""
    MIXED = "mixed"
    """Every trial of the study in one random order; the first question of each says whose it is."""


class Reference(StrEnum):
    """What a block's readings are relative to."""

    FIRST = "first"
    """The block's zero: the indicator is zeroed once a block."""
    PREVIOUS = "previous"
    """The reading before: the indicator is zeroed every trial, and readings are differences. Goes
    with order `blocked`, and not with a probe."""
    DATUM = "datum"
    """A gauge block, or the probe's own zero. A gauge block laid on the bed that is being set tells
    spread, not height: its zero is where the last block left the screws."""
    GAP = "gap"
    """The true gap: the run ties the indicator to the nozzle first, as `tie` says."""


class Method(Checked):
    """The ways of setting the gap that are compared. A comparison needs at least one; a rig check
    and a probe loop have none."""

    name: Name
    """Its name on record."""
    instruction: Annotated[str, Field(min_length=1, max_length=300)]
    """What the operator is told to do."""
    goes_by: Annotated[GoesBy | None, Told(left_out="with reference `gap` it is needed")] = None
    """What tells whoever sets the gap that it is right. A tie that goes by the same says nothing of
    how far off it is."""
    meant_mm: Annotated[PositiveMm | None, Told(left_out="the study's `target_mm`")] = None
    """The gap that it is meant to set."""


class TurnRange(Checked):
    """Before each setting the operator is told to turn the screw away by a random amount in this
    range, so that settings owe nothing to each other; `turn_away: null` leaves it out."""

    least_deg: Annotated[int, Field(ge=10, le=360)] = 60
    """The least."""
    most_deg: Annotated[int, Field(ge=10, le=360)] = 180
    """The most; not below `least_deg`."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.most_deg < self.least_deg:
            raise ValueError("most_deg must not be below least_deg")
        return self


class Cycle(Checked):
    """The motions and pauses of one trial."""

    settle_s: Annotated[float, Field(ge=0, le=30)] = 3.0
    """Rest before the reading; swing dies out in well under 1 s, the rest is for the eye (common
    practice, no source)."""
    countdown_s: Annotated[int, Field(ge=0, le=30)] = 3
    """Warning before anything moves; 0 is taken by simulated machines only."""
    turn_away: Annotated[
        TurnRange | None, Field(validation_alias=AliasChoices("turn_away", "disturb"))
    ] = TurnRange()
    probe_lift_mm: Annotated[float, Field(ge=2, le=20)] = 5.0
    """How far up between two touches, in a probe loop."""


class Tolerance(Checked):
    """What is good enough: at least `proportion` of future settings within plus or minus
    `within_mm`. Without it: no verdict against a tolerance."""

    within_mm: PositiveMm
    """Plus or minus."""
    proportion: Annotated[float, Field(gt=0.5, lt=1), Told(unit="share")] = 0.95
    """At least this share of future settings."""
    confidence: Annotated[float, Field(gt=0.5, lt=1), Told(unit="share")] = 0.95
    """How sure the claim must be."""


class Warmth(Checked):
    """A warm bed. Without it every heater stays off. It burns: each prompt says so."""

    bed_c: Annotated[float, Field(gt=0, le=110)]
    """How warm; up to the machine's own `hottest_bed_c`."""
    soak_s: Annotated[float, Field(ge=0, le=7200)] = 900.0
    """Wait at temperature, because bed and frame grow while warming."""


SECTIONS = {
    "level": "level",
    "loop": "probe-loop",
    "axis": "axis-test",
    "second_gauge": "gauge-comparison",
}
"""Sections of a study file that go with one kind of study alone, and which."""

_ONLY_WITH_GAP = ("target_mm", "on_target_within_mm", "tie")


def gap_faults(study: "Study") -> Iterator[tuple[tuple[str | int, ...], str]]:
    """What is wrong with a study as far as reference `gap` goes: where, and what."""
    if study.reference is not Reference.GAP:
        given = (key for key in _ONLY_WITH_GAP if getattr(study, key) is not None)
        yield from (((key,), "goes with 'reference: gap' only") for key in given)
        return
    if not words_of(study.kind).makes_ties:
        yield ("reference",), f"gap needs a tie, which a study of kind {study.kind} does not make"
        return
    for key in ("target_mm", "tie"):
        if getattr(study, key) is None:
            yield (key,), "is needed with 'reference: gap'"
    if study.warmth is not None:
        yield ("warmth",), "is not possible with 'reference: gap': the tie is made cold"
    if study.gauge.kind == "probe":
        yield ("gauge", "kind"), "a probe is no indicator that could be tied to the nozzle"
    for index, method in enumerate(study.methods):
        yield from _method_faults(index, method)
    if study.tie is not None:
        yield from _points_faults(study, study.tie)


def _method_faults(index: int, method: Method) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if method.goes_by is None:
        yield ("methods", index, "goes_by"), "is needed with 'reference: gap'"
    if method.name == TIE_METHOD:
        what = f"'{TIE_METHOD}' is what readings of the tie are called"
        yield ("methods", index, "name"), what


def _points_faults(study: "Study", tie: Tie) -> Iterator[tuple[tuple[str | int, ...], str]]:
    tied = tie.points or study.points
    if set(study.points) - set(tied) and tie.guides_mm is None:
        what = "is needed where a point of the study has no tie of its own"
        yield ("tie", "guides_mm"), what


class Study(Checked):
    """The plan."""

    study: Name
    """Its name in every record."""
    title: Annotated[str, Field(min_length=1, max_length=120)]
    """For people."""
    kind: KindName
    """What kind of study it is."""
    methods: list[Method] = Field(default_factory=list)
    operators: Annotated[list[Name], Told(allowed="list of names")] = Field(default_factory=list)
    """Whose hands, by the names that go on record; a pseudonym does, and is kinder. A comparison
    needs at least one, a probe loop has none."""
    points: Annotated[list[Name], Field(min_length=1), Told(allowed="list of names, at least one")]
    """Where, by names from the machine file."""
    trials: Annotated[int, Field(ge=1, le=10_000), Told(unit="settings")]
    """How many in each block: one method, one pair of hands, one point."""
    order: Order = Order.BLOCKED
    """In which order trials come."""
    reference: Reference = Reference.FIRST
    """What a block's readings are relative to."""
    cycle: Cycle = Cycle()
    gauge: Gauge = Gauge()
    tolerance: Tolerance | None = None
    target_mm: Annotated[PositiveMm | None, Told(left_out="with reference `gap` it is needed")] = (
        None
    )
    """The gap that is wanted; settings are judged about it."""
    on_target_within_mm: Annotated[PositiveMm | None, Told(left_out="on target is never said")] = (
        None
    )
    """A method is on target where its mean gap is shown to be no further off than this."""
    tie: Annotated[Tie | None, Told(left_out="with reference `gap` it is needed")] = None
    level: Annotated[Level | None, Told(left_out="with kind `level` as shown")] = None
    loop: Annotated[Loop | None, Told(left_out="with kind `probe-loop` as shown")] = None
    axis: Annotated[AxisTest | None, Told(left_out="with kind `axis-test` it is needed")] = None
    second_gauge: Annotated[
        Gauge | None, Told(left_out="with kind `gauge-comparison` it is needed")
    ] = None
    """What reads the same place beside `gauge`."""
    warmth: Warmth | None = None
    seed: Annotated[
        Annotated[int, Field(ge=0)] | None,
        Told(unit="plain number", left_out="drawn at the start and recorded"),
    ] = None
    """Of the random order; recorded with the run."""

    @property
    def heats(self) -> bool:
        """Whether it heats the bed, all along or now and then."""
        return self.warmth is not None or (self.loop is not None and self.loop.heat is not None)

    @model_validator(mode="after")
    def _as_its_kind_has_it(self) -> Self:
        STUDY_KINDS.find(self.kind).check(self)
        return self

    @model_validator(mode="after")
    def _sections_of_its_kind(self) -> Self:
        for key, kind in SECTIONS.items():
            if self.kind != kind and getattr(self, key) is not None:
                raise Misplaced(f"goes with kind {kind} only", key)
        return self

    @model_validator(mode="after")
    def _reference_possible(self) -> Self:
        if self.reference is Reference.PREVIOUS and self.order is Order.MIXED:
            raise Misplaced("must be blocked, as reference: previous compares neighbours", "order")
        if self.reference is Reference.PREVIOUS and self.gauge.kind == "probe":
            raise Misplaced("previous needs a gauge that is zeroed by hand", "reference")
        return self

    @model_validator(mode="after")
    def _gap_possible(self) -> Self:
        for key, what in gap_faults(self):
            raise Misplaced(what, *key)
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
