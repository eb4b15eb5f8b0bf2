"""Points, operators and trials as a gauge study: only where readings have one zero in common."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.gauge_figures import Components, GaugeFigures
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.crossed import (
    Component,
    ComponentShare,
    Crossed,
    CrossedFigures,
    Crossing,
    VarianceLine,
    VarianceTable,
)
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Material

if TYPE_CHECKING:
    from hostctl.metrology.components.anova import AnovaLine
    from hostctl.metrology.components.crossed import CrossedAnova

Rows = Sequence[tuple[str, str, Readings]]
"""Point, operator and the readings of a block."""

OWN_ZEROS = NotYet(reason=Reason(Withheld.OWN_ZEROS))


def crossed_studies(
    judged: Sequence[Judged], material: Material, within_mm: float | None
) -> tuple[Crossed, ...]:
    """One for each method that two operators or more used at two points or more."""
    return tuple(
        crossed
        for method in dict.fromkeys(one.sample.method for one in judged)
        if (crossed := _crossed(method, _rows(judged, method), material, within_mm))
    )


def _rows(judged: Sequence[Judged], method: str) -> Rows:
    samples = [one.sample for one in judged if one.sample.method == method]
    return [(b.point, sample.operator, b.values_mm) for sample in samples for b in sample.blocks]


def _crossed(
    method: str, rows: Rows, material: Material, within_mm: float | None
) -> Crossed | None:
    points, operators = {point for point, _, _ in rows}, {name for _, name, _ in rows}
    if min(len(points), len(operators)) < 2:
        return None
    own_zeros = material.own_zeros or material.reference != "datum"
    study = OWN_ZEROS if own_zeros else _study(rows)
    figures: CrossedFigures | NotYet
    if isinstance(study, NotYet):
        figures, shares = study, tuple[ComponentShare, ...]()
    else:
        figures = _figures(study.components.figures, within_mm)
        shares = tuple(_shares(study.components, within_mm))
    return Crossed(
        method=method,
        points=len(points),
        operators=len(operators),
        study=study,
        figures=figures,
        shares=shares,
    )


def _study(rows: Rows) -> Crossing | NotYet:
    import numpy as np

    from hostctl.metrology.components.gauge_study import gauge_study

    try:
        found = gauge_study(
            [point for point, _, values in rows for _ in values],
            [operator for _, operator, values in rows for _ in values],
            np.concatenate([np.asarray(values, dtype=np.float64) for _, _, values in rows]),
        )
    except NotEnough as why:
        return NotYet(reason=why.reason)
    anova = found.anova if isinstance(found.anova, NotYet) else _table(found.anova)
    return Crossing(components=found.components, anova=anova, says=found.says)


def _table(anova: "CrossedAnova") -> VarianceTable:
    return VarianceTable(
        part=_line(anova.part, anova.test(anova.part)),
        operator=_line(anova.operator, anova.test(anova.operator)),
        interaction=_line(anova.interaction, anova.interaction_test),
        repeatability=_line(anova.repeatability, None),
        trials=anova.trials,
        pooled=anova.pooled,
        error=_line(anova.error, None),
    )


def _line(line: "AnovaLine", test: Significance | NotYet | None) -> VarianceLine:
    return VarianceLine(ss=line.ss, df=line.df, ms=line.ms, test=test)


def _figures(figures: GaugeFigures, within_mm: float | None) -> CrossedFigures:
    known = {
        "ev": figures.ev,
        "av": figures.av,
        "interaction": figures.interaction,
        "pv": figures.pv,
        "grr": figures.grr,
    }
    return CrossedFigures(
        **known,
        tv=figures.tv,
        percent_of_total={name: figures.percent_of_total(sd) for name, sd in known.items()},
        percent_of_tolerance=None
        if within_mm is None
        else {name: figures.percent_of_tolerance(sd, 2 * within_mm) for name, sd in known.items()},
        ndc=figures.ndc,
    )


def _shares(components: Components, within_mm: float | None) -> Iterator[ComponentShare]:
    """In the order of the manual's report; the interaction only where it was told apart."""
    figures = components.figures
    known: dict[Component, Estimate | None] = {
        "ev": components.repeatability,
        "av": components.operator,
        "interaction": components.interaction,
        "grr": components.grr,
        "pv": components.part,
        "tv": components.total,
    }
    for component, estimate in known.items():
        if estimate is not None:
            yield ComponentShare(
                component=component,
                estimate=estimate,
                of_total=figures.percent_of_total(estimate.value),
                of_tolerance=None
                if within_mm is None
                else figures.percent_of_tolerance(estimate.value, 2 * within_mm),
            )
