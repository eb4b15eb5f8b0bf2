"""Everything that an analysis found. What only several methods have is loaded only for them."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.analysis.result.oddities import Oddities

if TYPE_CHECKING:
    from hostctl.report.analysis.result.comparison import Compared
    from hostctl.report.analysis.result.crossed import Crossed
    from hostctl.report.analysis.result.means import Bias
    from hostctl.report.analysis.result.workshops import BetweenWorkshops


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis(Judgement):
    """Readings analysed. Lengths in mm; an open end of an interval is null.

    unit: that of lengths.  goal: what is good enough.
    look: which look at these readings it is; None without a goal.
    rig_wanted: whether a rig check should be at hand.
    target_wanted: whether the readings of a file, all farther from 0 than the tolerance, look like
    gaps that a target is meant for.
    results: what each method comes to in each pair of hands.
    smallest: the place in `results`, from 0, of the smallest spread.  largest: that of the largest.
    few: the smallest sample with a figure for s; None where each is large enough.
    rows: how the settings of each result lie about what its tolerance is measured from.
    tie: what makes the readings gaps; None where nothing does.
    trueness: how far off each result sets, in their order; empty without a tie.
    compared: spreads; None for a single one.  biases: mean settings compared; none where readings
    don't count from a datum.  oddities: what is out of the ordinary in the settings of each result.
    crossed: a gauge study of each method that allows one.  workshops: each method that three
    workshops or more have tried.
    """

    compared: "Compared | None"
    biases: "tuple[Bias, ...]"
    oddities: tuple[Oddities, ...]
    crossed: "tuple[Crossed, ...]"
    workshops: "tuple[BetweenWorkshops, ...]"


def loaded_late() -> dict[str, type]:
    """The types of its fields that are loaded only where there is something of them."""
    from hostctl.report.analysis.result.comparison import Compared
    from hostctl.report.analysis.result.crossed import Crossed
    from hostctl.report.analysis.result.means import Bias
    from hostctl.report.analysis.result.workshops import BetweenWorkshops

    return {
        "Compared": Compared,
        "Crossed": Crossed,
        "Bias": Bias,
        "BetweenWorkshops": BetweenWorkshops,
    }
