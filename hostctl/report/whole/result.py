"""The report of runs or files: an analysis, each block as it was read, and how it was done."""

from dataclasses import dataclass
from datetime import datetime

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.history.result import History


@dataclass(frozen=True, slots=True, kw_only=True)
class CountSeen:
    """Settings of one method within the tolerance, all hands together, as read."""

    method: str
    inside: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadSeen:
    """So many settings read at one value, counted from the block's zero."""

    value_mm: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSeen:
    """The settings of one block as they were read.

    result: the place of its method and hands in `analysis.results`.  doubted: whether it was read
    since the last good check of what ties it to the nozzle.  has_zero: whether its zero is
    a setting like the others, and one of those at 0.  average_mm: of its settings.
    """

    result: int
    point: str
    workshop: str
    settings: tuple[ReadSeen, ...]
    has_zero: bool
    average_mm: float
    doubted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceSeen:
    """A setting in the order taken. place: from 1; where there are too many, the first of those
    that share a column, `count` of them at this value.  from_mm: from what the tolerance is
    measured from.  block: its place among all blocks, or -1 where columns mix them."""

    place: int
    from_mm: float
    result: int
    block: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InOrder:
    """Settings in the order taken. step_mm: to which they are drawn, a graduation or several.
    shared: whether several share a column, since there would be too many to draw."""

    places: tuple[PlaceSeen, ...]
    step_mm: float
    shared: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadAfter:
    """Between what limits the true spread lies after so many settings (95 %), in units of the s
    that they would find; low_mm, high_mm: where that were the s of the foresight."""

    settings: int
    low: float
    high: float
    low_mm: float | None
    high_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Foresight:
    """How well more settings would know a spread. result: whose s it is reckoned from, and s_mm;
    None where none has a figure."""

    result: int | None
    s_mm: float | None
    after: tuple[SpreadAfter, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TieSeen:
    """One observation of a tie. low_mm, high_mm: where its constant lies by this one alone, from
    that of the first tie at its point.  block: of the run, common to those made together.
    after: so many settings were read before; None of a tie that was no check."""

    point: str
    block: int
    after: int | None
    low_mm: float
    high_mm: float


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
class TiePlanned:
    """How the indicator was to be joined to the nozzle.

    by: touch, feelers or gauge-block.  contact: how it is known of a touch; None of others.
    points: where; empty: at each.  times: at each of them.  checks: on the way, besides that at the
    end, `check_times` each.  floor_below_mm: the nozzle goes no further below what blades say.
    coarse_mm, fine_mm: a step down.
    """

    by: str
    contact: str | None
    points: tuple[str, ...]
    times: int
    checks: int
    check_times: int
    floor_below_mm: float
    coarse_mm: float
    fine_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What the study and the machine file that were kept with a run say of it.

    trials: settings in each block.  order, reference: empty where the kind of study has its own.
    turn_away_deg: how far the screw is turned away before each setting, None where it isn't.
    clear_z_mm: the height at which the head goes sideways.  warm_bed_c: None where heaters stay
    off.  path: one cycle from the side; empty where it is not always the same.
    tie: None where nothing was to join the indicator to the nozzle.
    """

    methods: tuple[MethodCard, ...]
    operators: tuple[str, ...]
    points: tuple[str, ...]
    trials: int
    order: str
    reference: str
    gauge: str
    resolution_mm: float
    settle_s: float
    turn_away_deg: tuple[int, int] | None
    clear_z_mm: float
    warm_bed_c: float | None
    simulated: bool
    path: tuple[PathStop, ...]
    tie: TiePlanned | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduct:
    """How one run was carried out.

    seed: of its random order, as text: other programs would round it.  planned: None where its
    files can't be read any more.  bed_c, nozzle_c: the lowest and the highest read; None where the
    machine did not say.  left: every trial void, skipped or done again, and every hold.
    """

    name: str
    study: str
    kind: str
    machine: str
    program: str
    seed: str
    started_at: datetime
    ended_at: datetime | None
    complete: bool
    end_reason: str
    planned: Planned | None
    bed_c: tuple[float, float] | None
    nozzle_c: tuple[float, float] | None
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

    analysis: what was found.
    counts: how many of each method lay within the tolerance; none without one.
    blocks: every reading of each block, empty where there are too many.  order: settings in the
    order taken.  ties: every observation of a tie, in the order taken; none without one, or where
    there are too many.  foresight: how well a spread is known after so many settings.
    conduct: how each run was carried out; none of a file.  rig: that of the rig check taken out.
    history: the rig's checks over time; None with fewer than two.  enclosed: the data themselves.
    made_at: when; program: by which version.
    """

    analysis: Analysis
    counts: tuple[CountSeen, ...]
    blocks: tuple[BlockSeen, ...]
    order: InOrder
    ties: tuple[TieSeen, ...]
    foresight: Foresight
    conduct: tuple[Conduct, ...]
    rig: Conduct | None
    history: History | None
    enclosed: Enclosed
    made_at: datetime
    program: str
