"""How far off each method sets, and the tie that says so: typed, nothing computed later."""

from dataclasses import dataclass
from typing import NamedTuple

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.trueness.standing import Standing

RISK = 0.05
"""That a method is wrongly said to be on target, or off it, over all looks."""


class Precision(NamedTuple):
    """The standard deviation of a setting, mm, and what it is below; None where not known."""

    sd_mm: float | None
    below_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """From the least to the most."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TieAtPoint:
    """The tie at one point, mm, for as long as it held there. part: from 1, one more each time that
    a check found that it had moved.  observed: how often.  middle_mm: the mean of the middles of
    what each observation says.  width_mm: how far its ends lie apart, on average.  constant: the
    gap where the reading is 0."""

    point: str
    part: int
    observed: int
    middle_mm: float
    width_mm: float
    constant: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class TieCheck:
    """What a check found, mm. at_trial: how many settings had been read before it."""

    point: str
    at_trial: int
    shift_mm: float
    limit_mm: float
    moved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TieFound:
    """The tie behind the gaps. Lengths in mm.

    by: touch, feelers or gauge-block; empty where a file gives gaps as they are.
    target_mm: the gap wanted.  points: where it was made.
    beyond_mm: the standard uncertainty that repeating it can't show; of a file, all of it.
    guides_mm: allowed for at points without a tie; None: there is none.
    slack_mm: how far blades or block, and the feel of them, may be wrong, plus or minus: in each
    observation.
    checks: in the order taken.  unchecked: settings after the last of them.
    bed_c, settings_bed_c: how warm the bed was at the ties and at the settings, degrees Celsius;
    None where the machine did not say.  is_stale: these lie too far apart.
    """

    by: str
    target_mm: float
    points: tuple[TieAtPoint, ...]
    beyond_mm: float
    guides_mm: float | None
    slack_mm: float
    checks: tuple[TieCheck, ...]
    unchecked: int
    bed_c: Span | None
    settings_bed_c: Span | None
    is_stale: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Trueness:
    """How far off a method sets in one pair of hands. Lengths in mm; accuracy is this together with
    the precision beside it (ISO 5725-1).

    points: at how many it was made; the mean is that over these.
    meant_mm: the gap that it is meant to set.  margin_mm: a mean no further off is on target.
    mean_gap: with rounding, rig and tie in its interval.  off: the same less `meant_mm`; not known
    by a tie that tells nothing of this method.
    standing: and `why`, where it cannot be told.  judged_by: where the mean may be off target at
    the confidence that this look has, by which the standing goes; None where it has none.
    correction: how much wider to aim; negative: narrower.
    tie_share: of the variance of the mean gap.  of_tie: where the error of the tie may lie, at
    95 %, by itself.  precision_mm: the standard deviation of a setting,
    the rig taken out where it can be; None where no figure is known.
    precision_below_mm: what it is below, at 95 %; None from one reading.
    doubted: readings of it since the last good check of the tie.
    """

    method: str
    operator: str
    points: int
    meant_mm: float
    margin_mm: float | None
    mean_gap: Estimate | NotYet
    off: Estimate | NotYet
    standing: Standing
    why: Reason | None
    judged_by: Interval | None
    correction: Estimate | NotYet
    tie_share: float | None
    of_tie: Interval | None
    precision_mm: float | None
    precision_below_mm: float | None
    doubted: int

    @property
    def name(self) -> str:
        """Method and hands, as in a sentence."""
        return f"{self.method} by {self.operator}" if self.operator else self.method
