"""A gauge study from its rows, whatever its shape: crossed or nested, full or with gaps."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet
from hostctl.metrology.components.crossed import (
    Components,
    CrossedAnova,
    crossed_anova,
    crossed_components,
)
from hostctl.metrology.components.crossed_cells import crossed_cells, label_codes
from hostctl.metrology.components.gauge_figures import GaugeFigures
from hostctl.metrology.components.reml import combined_levels, reml


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStudy:
    """Components with intervals, the manual's figures, and the table where there is one.

    `says`: which way it was reckoned and what was pooled, in a sentence.
    """

    components: Components
    anova: CrossedAnova | NotYet
    says: str

    @property
    def figures(self) -> GaugeFigures:
        """EV, AV, GRR, PV, TV and their shares."""
        return self.components.figures


def gauge_study(
    parts: Sequence[Hashable],
    operators: Sequence[Hashable],
    values: npt.ArrayLike,
    *,
    pool_above: float = 0.25,
    confidence: float = 0.95,
) -> GaugeStudy:
    """Analyse rows of (part or point, operator, reading).

    Full table: analysis of variance. Cells that differ in trials or are missing: REML. Operators
    who each saw only one part of their own: nested, by REML. Raises NotEnough for fewer than two
    parts or operators, for lengths that differ, values that are not numbers, readings all alike.
    """
    y = np.asarray(values, dtype=np.float64).reshape(-1)
    if not len(parts) == len(operators) == y.size:
        raise NotEnough("gauge study: parts, operators and readings differ in number")
    part, part_labels = label_codes(parts)
    operator, operator_labels = label_codes(operators)
    if min(len(part_labels), len(operator_labels)) < 2:
        raise NotEnough("gauge study: needs at least 2 parts and 2 operators")
    cells = crossed_cells(part, operator, y)
    if cells.trials is not None:
        anova = crossed_anova(cells, pool_above)
        return GaugeStudy(
            components=crossed_components(anova, confidence),
            anova=anova,
            says=_anova_says(anova, pool_above),
        )
    nested = bool(np.all((cells.counts > 0).sum(axis=0) == 1))
    return _by_reml(part, operator, y, nested, bool(np.any(cells.counts > 1)), confidence)


def _anova_says(anova: CrossedAnova, pool_above: float) -> str:
    if not anova.pooled:
        return "full table, analysis of variance with interaction"
    if anova.repeatability.df == 0:
        return "full table, one trial a cell: the interaction can't be told from repeatability"
    return (
        "full table, analysis of variance; the interaction is pooled with repeatability because its"
        f" p value is above {pool_above:g}"
    )


def _by_reml(
    part: npt.NDArray[np.int64],
    operator: npt.NDArray[np.int64],
    y: npt.NDArray[np.float64],
    nested: bool,
    repeated: bool,
    confidence: float,
) -> GaugeStudy:
    if nested and not repeated:
        raise NotEnough("gauge study: nested operators need at least two trials of one part")
    effects = {"part": part, "operator": operator}
    crossed = repeated and not nested
    if crossed:
        effects["interaction"] = combined_levels(part, operator)
    fit = reml(y, effects)
    gauge = ["operator", *(["interaction"] if crossed else []), "residual"]

    def spread(*names: str) -> Estimate:
        return fit.spread_of(*names, confidence=confidence)

    why = "operators differ by part: nested" if nested else "trials or cells are missing"
    return GaugeStudy(
        components=Components(
            repeatability=spread("residual"),
            operator=spread("operator"),
            interaction=spread("interaction") if crossed else None,
            part=spread("part"),
            grr=spread(*gauge),
            total=spread("part", *gauge),
        ),
        anova=NotYet(reason=f"{why}: no unique table of sums of squares"),
        says=f"{why}; restricted maximum likelihood, nothing pooled, components stop at zero",
    )
