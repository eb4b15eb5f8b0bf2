"""A gauge study from its rows, whatever its shape: crossed or nested, full or with gaps."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.components.crossed import CrossedAnova, crossed_anova, crossed_components
from hostctl.metrology.components.crossed_cells import crossed_cells, label_codes
from hostctl.metrology.components.gauge_figures import Components, GaugeFigures
from hostctl.metrology.components.reml import combined_levels, reml


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStudy:
    """Components with intervals, the manual's figures, and the table where there is one.

    `says`: which way it was reckoned and what was pooled.
    """

    components: Components
    anova: CrossedAnova | NotYet
    says: Reason

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
    parts or operators, values that are not numbers, readings all alike; ValueError for lengths that
    differ.
    """
    y = np.asarray(values, dtype=np.float64).reshape(-1)
    if not len(parts) == len(operators) == y.size:
        raise ValueError("gauge study: parts, operators and readings differ in number")
    part, part_labels = label_codes(parts)
    operator, operator_labels = label_codes(operators)
    if min(len(part_labels), len(operator_labels)) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_PARTS))
    cells = crossed_cells(part, operator, y)
    if cells.trials is not None:
        anova = crossed_anova(cells, pool_above)
        return GaugeStudy(
            components=crossed_components(anova, confidence),
            anova=anova,
            says=_says(anova, pool_above),
        )
    nested = bool(np.all((cells.counts > 0).sum(axis=0) == 1))
    return _by_reml(part, operator, y, nested, bool(np.any(cells.counts > 1)), confidence)


def _says(anova: CrossedAnova, pool_above: float) -> Reason:
    if not anova.pooled:
        return Reason(Why.FULL_TABLE)
    if anova.repeatability.df == 0:
        return Reason(Why.FULL_TABLE_ONE_TRIAL)
    return Reason(Why.FULL_TABLE_POOLED, above=pool_above)


def _by_reml(
    part: npt.NDArray[np.int64],
    operator: npt.NDArray[np.int64],
    y: npt.NDArray[np.float64],
    nested: bool,
    repeated: bool,
    confidence: float,
) -> GaugeStudy:
    if nested and not repeated:
        raise NotEnough(Reason(Why.NESTED_WITHOUT_REPEATS))
    effects = {"part": part, "operator": operator}
    crossed = repeated and not nested
    if crossed:
        effects["interaction"] = combined_levels(part, operator)
    fit = reml(y, effects)
    gauge = ["operator", *(["interaction"] if crossed else []), "residual"]

    def spread(*names: str) -> Estimate:
        return fit.spread_of(*names, confidence=confidence)

    return GaugeStudy(
        components=Components(
            repeatability=spread("residual"),
            operator=spread("operator"),
            interaction=spread("interaction") if crossed else None,
            part=spread("part"),
            grr=spread(*gauge),
            total=spread("part", *gauge),
        ),
        anova=NotYet(reason=Reason(Why.NO_UNIQUE_TABLE, nested=nested)),
        says=Reason(Why.BY_LIKELIHOOD, nested=nested),
    )
