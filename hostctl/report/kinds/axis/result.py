"""What an axis test comes to, typed: nothing is worked out later. Lengths in mm.

Letters are those of ISO 230-2:2014, from memory: deviation x = position reached less target, s its
standard deviation, B reversal, R repeatability, E systematic deviation, M mean bidirectional
deviation, A accuracy. Up: a target come to from below, height rising.
"""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class SideFound:
    """One target come to from one side, deviations in the order of runs.

    mean_mm: x̄; sd_mm: s; limits_mm: from x̄ - 2 s to x̄ + 2 s.  sd_interval: of its true s, the risk
    shared over the targets; of readings all alike a bound from above.
    """

    deviations_mm: tuple[float, ...]
    mean_mm: float
    sd_mm: float
    limits_mm: tuple[float, float]
    sd_interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetFound:
    """One target. What needs both sides is None where it was come to from one.

    mean_mm: of both sides' means; reversal_mm: B, up less down; repeatability_mm: R of this target.
    """

    number: int
    target_mm: float
    up: SideFound | None
    down: SideFound | None
    mean_mm: float | None
    reversal_mm: float | None
    reversal_interval: Interval | None
    repeatability_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureFound:
    """A figure of the standard, as found in these runs. interval: where the axis' own may lie,
    95 %, rounding of the readings allowed for."""

    value_mm: float
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFound:
    """One s for all targets and sides, were it the same everywhere. value_mm: None where readings
    give no more than a bound."""

    value_mm: float | None
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class AccuracyFound:
    """What the indicator's own error enters; u_mm: its standard uncertainty. up, down, both: as
    the standard's arrows say. Each E, A; and M of both."""

    u_mm: float
    systematic_up_mm: float | None
    systematic_down_mm: float | None
    systematic_mm: float | None
    mean_deviation_mm: float | None
    accuracy_up_mm: float | None
    accuracy_down_mm: float | None
    accuracy_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FarFound:
    """A position far from the others at its target and side, beyond five spreads and five
    resolutions; it is not left out. run: counted from 1, of those that count.  off_mm: from their
    median.  spread_mm: standard deviation by the median of all targets' variances."""

    target_mm: float
    coming_from: Literal["below", "above"]
    run: int
    off_mm: float
    spread_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TogetherFound:
    """Scatter common to a pass, one run from one side over all targets. spread_mm: of a pass.
    rest_mm: of one position beside it.  p: of passes against the rest, by an F test."""

    spread_mm: float
    rest_mm: float
    p: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisResult:
    """An axis tested at rising targets.

    name: of the run, or the file's.  title: the same with what it was of.  machine: its name; None
    of a table.  point: where the plunger stood; None of a table.  resolution_mm: what positions
    were read to.
    relative: whether deviations are told from the mean at the first target, as where the zero of
    the indicator means nothing.  runs: so many at each target from each side.
    left_out: runs in which a target is missing.  targets: rising.
    repeatability_up, repeatability_down: R of one side; None where it was not come from there.
    repeatability: R of both sides; None with one.  reversal: B, the largest in size; None with one
    side.  mean_reversal_mm: with its sign, up less down.  spread: of one reading about its mean.
    far: positions that are far from the others.  together: scatter common to a whole pass; None
    where none shows.  moved_less_mm: at the last target the plunger may have hung free, since it
    moved so much less than was ordered, or, where this is 0, since all was alike just there; None:
    neither shows.
    accuracy: E, M and A; None where the indicator is not calibrated.  complete: whether the run
    came to its end.  notes: what a reader must know of the source.
    """

    name: str
    title: str
    machine: str | None
    point: str | None
    resolution_mm: float
    relative: bool
    runs: int
    left_out: int
    targets: tuple[TargetFound, ...]
    repeatability_up: FigureFound | None
    repeatability_down: FigureFound | None
    repeatability: FigureFound | None
    reversal: FigureFound | None
    mean_reversal_mm: float | None
    spread: SpreadFound
    far: tuple[FarFound, ...]
    together: TogetherFound | None
    moved_less_mm: float | None
    accuracy: AccuracyFound | None
    complete: bool
    notes: tuple[str, ...]
