"""The report of runs or files: an analysis, how every reading lies, and how it was done."""

from dataclasses import dataclass
from datetime import datetime

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.history.result import History


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueSeen:
    """So many settings at one value. from_mm: its distance from where the row counts from."""

    from_mm: float
    count: int
    outside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSeen:
    """The settings of one method in one pair of hands, about what its tolerance is measured from;
    `result` is its place in `analysis.results`, from 0.

    merged: whether values are rounded to `step_mm`, since there would be too many to draw.
    """

    result: int
    values: tuple[ValueSeen, ...]
    step_mm: float
    merged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class GraduationSeen:
    """So many readings at one graduation, counted from the block's zero."""

    graduation: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSeen:
    """The readings of one block as they were read, on the grid of graduations.

    result: the place of its method and hands in `analysis.results`.  has_zero: whether its zero is
    a setting like the others, at 0.  average_mm: of its settings.
    """

    result: int
    point: str
    workshop: str
    readings: tuple[GraduationSeen, ...]
    has_zero: bool
    average_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceSeen:
    """A setting in the order taken. place: from 1; where there are too many, the first of those
    that share a column, `count` of them at this value.  from_mm: from what the tolerance is
    measured from.  block: its place in `blocks`, or -1 where columns mix them."""

    place: int
    from_mm: float
    result: int
    block: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Foresight:
    """How well a spread is known after so many settings, in units of the s that they would find:
    between what limits the true one then lies (95 %)."""

    settings: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PathStop:
    """Where the head comes to in one cycle. what: what happens there; empty where it passes."""

    sideways_mm: float
    z_mm: float
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A trial that does not count, or a stop on the way. what: "void", "skipped" or "hold"."""

    what: str
    where: str
    why: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodCard:
    """One way of setting the gap, as the study file words it."""

    name: str
    instruction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduct:
    """How one run was carried out. What is not on record is None or empty.

    bed_c, nozzle_c: the lowest and the highest read.  order: of the trials, as the study has it.
    path: one cycle from the side.  left: every trial void, skipped or done again, and every hold.
    """

    name: str
    study: str
    kind: str
    machine: str
    program: str
    seed: int
    started_at: datetime
    ended_at: datetime | None
    complete: bool
    end_reason: str
    operators: tuple[str, ...]
    points: tuple[str, ...]
    methods: tuple[MethodCard, ...]
    order: str | None
    gauge: str | None
    source: str
    settle_s: float | None
    bed_c: tuple[float, float] | None
    nozzle_c: tuple[float, float] | None
    path: tuple[PathStop, ...]
    left: tuple[Left, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosed:
    """The data that a report carries. file: beside the page, None where they are in it.
    letters: whether names of people are replaced by letters."""

    readings: int
    sha256: str
    file: str | None
    letters: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a report shows. Lengths in mm.

    analysis: what was found.  rows: how settings lie about where the tolerance is measured from.
    blocks: every reading of each block, empty where there are too many.  order: settings in the
    order taken.  foresight: how well a spread is known after so many settings.
    conduct: how each run was carried out; none of a file.  rig: that of the rig check taken out.
    history: the rig's checks over time; None with fewer than two.  enclosed: the data themselves.
    made_at: when; program: by which version.
    """

    analysis: Analysis
    rows: tuple[RowSeen, ...]
    blocks: tuple[BlockSeen, ...]
    order: tuple[PlaceSeen, ...]
    foresight: tuple[Foresight, ...]
    conduct: tuple[Conduct, ...]
    rig: Conduct | None
    history: History | None
    enclosed: Enclosed
    made_at: datetime
    program: str
