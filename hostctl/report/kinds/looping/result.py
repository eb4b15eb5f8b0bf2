"""What a probe loop found. Lengths in mm, as its probe gives them; intervals 95 % sure."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.looping.groups import HomingScatter
from hostctl.metrology.looping.paired import PairedDifference
from hostctl.metrology.looping.wait import WarmUpAdvice

Stop = Literal["count", "known", "time", "left-cold", "broken-off", "goes-on"]
"""Why it is over: all touches done, the spread known well enough, long enough, the bed left cold;
or it was broken off, or isn't over yet."""

Way = Literal["touches", "within-stretches", "from-stretch-to-stretch"]

Verdict = Literal["goes-on", "known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFound:
    """The standard deviation of one touch without drift.

    Touches that follow each other at one level are taken in runs of up to `run_touches`, each
    about its own mean: `runs` of them, `n` touches in all.  value: or why there is none.
    interval: where it may lie, given all the same; its low end is 0 where only a bound is known.
    """

    value: Estimate | NotYet
    interval: Interval
    n: int
    runs: int
    run_touches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterFound:
    """The standard deviation of one touch, or why there is none. high: where it may lie at most;
    None where nothing is known of it.
    """

    value: Estimate | NotYet
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PointFound:
    """Touches at one point. height: their mean as the probe gives it.  spread: of all of them,
    drift and homing in.  shows: why they aren't independent touches of one level; None: nothing.
    """

    point: str
    n: int
    height: Estimate | NotYet
    spread: ScatterFound
    shows: Reason | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFound:
    """Some of the touches, by what they share. off: their mean, counted from the mean of their
    point and side.  spread: of one of them, within each level.
    """

    name: str
    n: int
    off: Estimate | NotYet
    spread: ScatterFound


@dataclass(frozen=True, slots=True, kw_only=True)
class SidesFound:
    """Touches come to from left and right in turn: how many from each, and how one of them
    scatters within each level.  difference: left less right, by pairs that follow each other.
    """

    left: int
    right: int
    left_spread: ScatterFound
    right_spread: ScatterFound
    difference: PairedDifference | NotYet


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftFound:
    """A straight line through all touches, each about the mean of its point and side.

    over_h: the time from the first touch to the last.  by: what the line goes through: all
    touches, those within each stretch between homings and holds, or the means of these stretches.
    per_h: in mm per hour.  in_all: over that time, in mm.
    """

    over_h: float
    by: Way
    per_h: Estimate | NotYet
    in_all: Estimate | NotYet

    @property
    def shows(self) -> bool:
        """Whether its interval leaves out 0."""
        return isinstance(self.per_h, Estimate) and 0.0 not in self.per_h.interval


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmthFound:
    """One temperature beside the touches. n: touches for which the machine said it.  per_k: how
    the reading goes with it, mm per kelvin.  with_time: how far it went with time, as a
    correlation, -1 to 1; None where it didn't vary.
    """

    what: Literal["bed", "nozzle"]
    n: int
    low_c: float
    high_c: float
    per_k: Estimate | NotYet
    with_time: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFound:
    """One look of the stop rule, as it was decided. n: touches looked at.  half_width: of the
    interval, as a share of the spread.  levels: so many points and sides share the risk of 5 %;
    None: an earlier version decided, and they did not.  Where no spread was stated: drift_mm,
    likeness or refused say what spoke against it.
    """

    point: str
    side: str | None
    look: int
    looks: int
    levels: int | None
    n: int
    known_to: float
    half_width: float | None
    s_mm: float | None
    low_mm: float | None
    high_mm: float | None
    drift_mm: float | None
    likeness: float | None
    refused: str | None
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldFound:
    """A touch that broke its control limits, as it was decided, so that the run was held.

    touch: its place in the whole loop, from 1.  moved: the centre had drifted before.
    """

    at: datetime
    point: str
    trial: int
    touch: int
    value_mm: float
    centre_mm: float
    lower_mm: float
    upper_mm: float
    moved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsFound:
    """Every touch held against its control limits once more, from the readings.

    baseline: touches that set the limits of each level.  t: Student's quantile they stand at.
    judged: touches after those.  beyond: of these, how many lie beyond.  moved: whether a centre
    drifted away from where it began by more than chance explains.
    """

    baseline: int
    t: float
    judged: int
    beyond: int
    moved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnFound:
    """Touches `first` to `last` of the course, those from one side; mm from their point's mean.

    lower_mm, upper_mm: the control limits then; None without.
    """

    first: int
    last: int
    side: str
    count: int
    low_mm: float
    mean_mm: float
    high_mm: float
    lower_mm: float | None
    upper_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HaltFound:
    """The run stood still before touch number `touch` (one more than there are: after the last)."""

    touch: int
    at: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BeyondFound:
    """A touch beyond its control limits, counted as `ColumnFound` counts."""

    touch: int
    off_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseFound:
    """The touches in order of time, many of them together. homed_before: touches before which the
    axes homed in between.  halts: where it stood still.
    beyond: touches beyond their limits.
    """

    columns: tuple[ColumnFound, ...]
    homed_before: tuple[int, ...]
    halts: tuple[HaltFound, ...]
    beyond: tuple[BeyondFound, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopResult:
    """A probe loop on record.

    name: of the run.  title: the same with what it was of.  machine: its name.  resolution_mm: the
    step that heights came in.  touches: those that count.  planned: how many there were to be;
    None: its study can't be read.
    void: touches left out.  failed: touches that gave no height.  failures: their share of all.
    went_on_s: from the first touch to the last.  stop: why it is over, or that it goes on.
    end_reason: the same as it was told then.  spread: apart from drift; None where no two touches
    are of a level.  spread_without: the same without touches beyond their control limits; None
    where none is.  drift: by a straight line.  points: each by itself.  sides: left held against
    right; None where it did not come from both.  hours: each by itself.  phases: warm and cold
    touches of heat cycles.  warmth: bed and nozzle, where they were told.
    homing: what homing adds; None where it didn't home in between.  homed_for_each: whether each
    touch was homed for.  warm_up: how long to wait; None where the bed was heated on purpose.
    settled: the drift after a warm-up; None where none shows.  warm_up_of: by so many touches,
    before it first homed or stood still.  warm_up_at: at which point; empty: at all.
    looks: of the stop rule, as decided.  held: touches that held the run, as decided.  limits: held
    against them once more; None where none could be set.  course: in order of time.
    notes: what a reader must know of the source.
    """

    name: str
    title: str
    machine: str
    resolution_mm: float
    touches: int
    planned: int | None
    void: int
    failed: int
    failures: Estimate | NotYet
    went_on_s: float
    stop: Stop
    end_reason: str
    spread: SpreadFound | None
    spread_without: SpreadFound | None
    drift: DriftFound
    points: tuple[PointFound, ...]
    sides: SidesFound | None
    hours: tuple[PartFound, ...]
    phases: tuple[PartFound, ...]
    warmth: tuple[WarmthFound, ...]
    homing: HomingScatter | NotYet | None
    homed_for_each: bool
    warm_up: WarmUpAdvice | NotYet | None
    settled: DriftFound | None
    warm_up_of: int
    warm_up_at: str
    looks: tuple[LookFound, ...]
    held: tuple[HeldFound, ...]
    limits: LimitsFound | None
    course: CourseFound
    notes: tuple[str, ...]
