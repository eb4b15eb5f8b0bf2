"""Points, operators and trials together: one method's gauge study."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.gauge_figures import Components

Component = Literal["ev", "av", "interaction", "grr", "pv", "tv"]


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceLine:
    """One line of an analysis of variance. ss, ms: sum of squares and mean square, mm².

    test: its F; None for a line that is tested against.
    """

    ss: float
    df: int
    ms: float
    test: Significance | NotYet | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceTable:
    """The analysis of variance. trials: in each cell.

    pooled: whether interaction and repeatability are taken as one, which `error` then is.
    """

    part: VarianceLine
    operator: VarianceLine
    interaction: VarianceLine
    repeatability: VarianceLine
    trials: int
    pooled: bool
    error: VarianceLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Components with intervals, and where they come from. says: which way it was reckoned."""

    components: Components
    anova: VarianceTable | NotYet
    says: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedFigures:
    """The manual's figures: standard deviations in mm, and the number of distinct categories.

    percent_of_tolerance: of the whole width; None where none is named.
    """

    ev: float
    av: float
    interaction: float
    pv: float
    grr: float
    tv: float
    percent_of_total: dict[str, float | NotYet]
    percent_of_tolerance: dict[str, float] | None
    ndc: int | NotYet


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentShare:
    """A component with its shares, in per cent; of_tolerance: None where none is named."""

    component: Component
    estimate: Estimate
    of_total: float | NotYet
    of_tolerance: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """One method's gauge study, points of the bed (or parts) playing the parts."""

    method: str
    points: int
    operators: int
    study: Crossing | NotYet
    figures: CrossedFigures | NotYet
    shares: tuple[ComponentShare, ...]
