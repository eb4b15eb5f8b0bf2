"""What each method in each pair of hands comes to: what `show` tells, and `analyse` tells first."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.oddities.block_means import BlocksApart
from hostctl.metrology.oddities.normal_law import NormalLaw
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.reckoning import Reckoning
from hostctl.report.analysis.result.rows import RowSeen
from hostctl.report.sources.material import Goal
from hostctl.report.trueness.result import TieFound, Trueness

DecidedBy = Literal["normal law", "count"]
VerdictWord = Literal["meets", "does not meet", "cannot tell yet"]
MeasuredFrom = Literal["own average", "each block's own average", "datum", "target"]
OrderSign = Literal["drift", "likeness of neighbours", "alternation of neighbours", "warm-up"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where readings come from, and what they count from.

    kind: of the study; empty for a file.  reference: None where nobody says it.
    zero_known: whether they are distances from a true datum.  own_zeros: whether the datum lay on
    the bed that is being set.  nobody_set: nothing was set by hand.  notes: what a reader must
    know, in sentences.
    """

    name: str
    title: str
    kind: str
    machine: str | None
    reference: Reference | None
    zero_known: bool
    own_zeros: bool
    nobody_set: bool
    resolution_mm: float
    resolution_from: str
    readings: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RigTakenOut:
    """The rig check that a study is judged by. notes: why this one, and where it fits badly."""

    name: str
    notes: tuple[str, ...]
    spread: RoundedSpread


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What became of the claim, and why.

    further_trials: would probably decide it, `power` being how probably; None where it is decided,
    or no sensible number would; `why_no_trials` says why not.
    centre: what deviations are counted from.  worst_block: the one that decides, of several.
    decided_by: a count where readings don't look normal: then only it may say either.
    half_width: where the half-width that holds the share asked for may lie, mm; by a count, what
    that says of it.
    sigma: one-sided limits of the standard deviation by the normal law, each wrong in at most
    `risk`.
    rig_out: whether the rig was taken out of what was judged.
    beyond_with_rig: it was not, and with it in the share is shown to take more than the tolerance.
    n, mean_mm: settings and mean off the datum of what decides; None without a datum.
    normal_quantile: the half-width in standard deviations; None where the mean counts too.
    """

    verdict: VerdictWord
    why: Reason
    further_trials: int | None
    power: float | None
    why_no_trials: Reason | None
    centre: str
    worst_block: str | None
    decided_by: DecidedBy
    half_width: Interval
    sigma: Interval
    risk: float
    rig_out: bool
    beyond_with_rig: bool
    n: int
    mean_mm: float | None
    normal_quantile: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """How many settings as read, the rig in them, lay within the tolerance of where it is measured
    from, block by block. It describes these trials and promises nothing."""

    inside: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodResult:
    """What one method in one pair of hands comes to. Lengths in mm.

    settings: how many the spread rests on, zeros that count among them; readings: as they are.
    mean_mm: of the readings, from wherever they count.  off: how far settings are off the datum on
    average; NotYet without one.
    range_mm, largest_deviation_mm: of the widest block; of a setting from its block's mean.
    spread: as read, the rig in it.  setting: the rig taken out.
    below_graduation: the spread is less than one graduation.
    law: whether readings look normal, as verdict and intervals suppose.
    order_shows: what shows in the order of settings, though verdict and intervals suppose that they
    are independent of each other.
    blocks_apart: block means that differ, which the spread leaves out; None where they agree, where
    each block's zero is its own, and of distances from a true datum.
    measured_from: where the ± of the tolerance begins. From an average it says nothing about the
    true gap, from each block's nothing about how far blocks lie apart.
    rig_share: of the variance of what was read; None where it is not known.
    inside: None where no tolerance is named, and of successive differences.
    verdict: None where no tolerance is named.
    """

    method: str
    operator: str
    points: tuple[str, ...]
    blocks: int
    readings: int
    settings: int
    mean_mm: float
    off: Estimate | NotYet
    range_mm: float
    largest_deviation_mm: float
    spread: RoundedSpread | NotYet
    repeatability_limit: Estimate | NotYet
    setting: Setting | NotYet
    below_graduation: bool
    law: NormalLaw | NotYet
    order_shows: tuple[OrderSign, ...]
    blocks_apart: BlocksApart | None
    measured_from: MeasuredFrom
    rig_share: float | None
    inside: Inside | None
    verdict: Verdict | NotYet | None
    reckoning: Reckoning | None

    @property
    def is_from_known_gap(self) -> bool:
        """Whether the ± of its tolerance begins at a datum or at the gap wanted."""
        return self.measured_from in ("datum", "target")

    @property
    def name(self) -> str:
        """Method and hands, as in a sentence."""
        return hands_name(self.method, self.operator)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Which look at these readings this is, and what of the risk of a wrong verdict it spends.

    number: from 1.  declared: how many in all, said at the first; None where nobody did.  too_late:
    how many were declared only now, which counts for nothing; None where none were.
    share: of the risk that a verdict is wrong; 0 where none is left, so that no verdict is given.
    left: the share that later looks may spend.
    recorded: looks at these runs on record, this one included; None of a file, of which none are.
    unrecorded: why this one is not; None where it is.
    """

    number: int
    declared: int | None
    too_late: int | None
    share: float
    left: float
    recorded: int | None
    unrecorded: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FewSettings:
    """A sample so small that its standard deviation says little.

    settings: of the smallest.  hardly_an_estimate: it is uncertain by more than a third.
    """

    settings: int
    hardly_an_estimate: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """Each method in each pair of hands, judged. Lengths in mm; an open end of an interval is null.

    goal: what is good enough.  look: which look at these readings it is; None without a goal.
    rig_wanted: whether a rig check should be at hand.
    target_wanted: whether the readings of a file, all farther from 0 than the tolerance, look like
    gaps that a target is meant for.
    smallest: the place in `results`, from 0, of the smallest spread.  largest: that of the largest.
    few: the smallest sample with a figure for s; None where each is large enough.
    rows: how the settings of each result lie about what its tolerance is measured from.
    tie: what makes the readings gaps; None where nothing does.
    trueness: how far off each result sets, in their order; empty without a tie.
    """

    source: Source
    unit: Literal["mm"]
    goal: Goal | None
    look: Look | None
    rig: RigTakenOut | None
    rig_wanted: bool
    target_wanted: bool
    results: tuple[MethodResult, ...]
    smallest: int | None
    largest: int | None
    few: FewSettings | None
    rows: tuple[RowSeen, ...]
    tie: TieFound | None
    trueness: tuple[Trueness, ...]


def hands_name(method: str, operator: str) -> str:
    """Method and hands, as in a sentence."""
    return f"{method} by {operator}" if operator else method
