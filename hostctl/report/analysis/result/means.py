"""Mean settings compared, where readings count from a datum."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.comparison.mean_difference import MeanDifference
from hostctl.metrology.spread.sample import Moments
from hostctl.report.analysis.result.comparison import Varied

CountedOnce = Literal["points", "blocks", "readings"]
MeanStanding = Literal["higher", "lower", "alike", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Mean of the first less mean of the second, mm. unit: what counts once in the sample.

    samples: those of both, or for points the one of their differences.  shifts_mm: how far rounding
    may have moved each one's mean beside.  judged: the interval and what follows from it, the
    margin being the tolerance; both allow for there being several comparisons of its kind.
    """

    unit: CountedOnce
    value: float
    samples: tuple[Moments, ...]
    shifts_mm: tuple[float, ...]
    judged: MeanDifference


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """Two mean settings. varied: what differs; fixed: what both share.

    compared: how many comparisons of its kind there are, which share the risk.
    standing: how high the first sets, the second being the measure; of gaps, higher is wider, each
    held against the gap that it is meant to set.
    """

    varied: Varied
    fixed: str
    first: str
    second: str
    compared: int
    found: Difference | NotYet
    standing: MeanStanding
