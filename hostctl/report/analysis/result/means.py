"""Mean settings compared, where readings count from a datum."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.significance import Equivalence, Significance
from hostctl.metrology.spread.sample import Moments
from hostctl.report.analysis.result.comparison import Varied

CountedOnce = Literal["points", "blocks", "readings"]
MeanStanding = Literal["higher", "lower", "alike", "cannot tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Mean of the first less mean of the second, mm. unit: what counts once in the test.

    samples: those of both, or for points the one of their differences.  standard_error_mm: of the
    mean of the latter.  rounding_mm: how far the rounding may shift it.  equivalence: whether they
    are, even so, shown to be within the tolerance of each other; None where none is named, or none
    is left.
    """

    unit: CountedOnce
    samples: tuple[Moments, ...]
    estimate: Estimate
    test: Significance
    standard_error_mm: float | None
    rounding_mm: float
    equivalence: Equivalence | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """Two mean settings. varied: what differs; fixed: what both share.

    adjusted_p: allowing for there being several comparisons of its kind (Holm).
    shown_within: whether the difference is shown to be smaller than the tolerance.
    standing: how high the first sets, the second being the measure.
    """

    varied: Varied
    fixed: str
    first: str
    second: str
    found: Difference | NotYet
    adjusted_p: float | None
    shown_within: bool
    standing: MeanStanding
