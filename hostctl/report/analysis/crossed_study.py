"""Points, operators and trials as a gauge study: only where readings have one zero in common."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.report.analysis.judgement import Result
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Material

if TYPE_CHECKING:
    from hostctl.metrology.components.gauge_study import GaugeStudy

OWN_ZEROS = NotYet(reason=Reason(Withheld.OWN_ZEROS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossed:
    """One method's gauge study, points of the bed (or parts) playing the parts."""

    method: str
    points: int
    operators: int
    study: "GaugeStudy | NotYet"


def crossed_studies(results: Sequence[Result], material: Material) -> tuple[Crossed, ...]:
    """One for each method that two operators or more used at two points or more."""
    return tuple(
        crossed
        for method in dict.fromkeys(result.method for result in results)
        if (crossed := _crossed(method, [r for r in results if r.method == method], material))
    )


def _crossed(method: str, results: Sequence[Result], material: Material) -> Crossed | None:
    rows = [(b.point, r.operator, b.values_mm) for r in results for b in r.blocks]
    points, operators = {point for point, _, _ in rows}, {name for _, name, _ in rows}
    if min(len(points), len(operators)) < 2:
        return None
    own_zeros = material.own_zeros or material.reference != "datum"
    return Crossed(
        method=method,
        points=len(points),
        operators=len(operators),
        study=OWN_ZEROS if own_zeros else _study(rows),
    )


def _study(rows: Sequence[tuple[str, str, Readings]]) -> "GaugeStudy | NotYet":
    import numpy as np

    from hostctl.metrology.components.gauge_study import gauge_study

    try:
        return gauge_study(
            [point for point, _, values in rows for _ in values],
            [operator for _, operator, values in rows for _ in values],
            np.concatenate([np.asarray(values, dtype=np.float64) for _, _, values in rows]),
        )
    except NotEnough as why:
        return NotYet(reason=why.reason)
