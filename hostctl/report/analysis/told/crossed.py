"""The gauge study of each method: its components, and the table that they come from."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.crossed import (
    Component,
    ComponentShare,
    Crossed,
    Crossing,
    VarianceLine,
    VarianceTable,
)
from hostctl.report.analysis.told.words import Words, listed
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.sources.material import Goal

COMPONENTS: dict[Component, str] = {
    "ev": "repeatability (EV)",
    "av": "operators (AV)",
    "interaction": "operators x points",
    "grr": "measuring in all (GRR)",
    "pv": "points (PV)",
    "tv": "total (TV)",
}


def points_and_operators(analysis: Analysis) -> Iterator[Block]:
    """The gauge study of each method, and why others have none."""
    if analysis.crossed:
        yield Heading(text="Points, operators and trials together")
        yield from gauge_studies(analysis)


def gauge_studies(analysis: Analysis) -> Iterator[Block]:
    """The same, one after the other."""
    reasons: dict[str, list[str]] = {}
    for found in analysis.crossed:
        if isinstance(found.study, NotYet):
            reasons.setdefault(reason_words(found.study.reason), []).append(found.method)
        else:
            yield from _gauge_study(analysis, found, found.study)
    for reason, methods in reasons.items():
        yield Paragraph(text=f"No gauge study of {listed(methods)}: {reason}.")


def variance_table(method: str, anova: VarianceTable) -> Iterator[Block]:
    """The analysis of variance that the gauge study's components come from."""
    rows = [
        ("points", anova.part),
        ("operators", anova.operator),
        ("operators x points", anova.interaction),
        ("repeatability", anova.repeatability),
    ]
    if anova.pooled:
        rows.append(("the last two pooled", anova.error))
    below = "the pooled line" if anova.pooled else "operators x points"
    trials = "trial" if anova.trials == 1 else "trials"
    yield Heading(text=f"{method}, points, operators and trials", level=2)
    yield Table(
        columns=(
            Column(head="analysis of variance"),
            Column(head="df", is_number=True),
            Column(head="SS", unit="mm²", is_number=True),
            Column(head="MS", unit="mm²", is_number=True),
            Column(head="F", is_number=True),
            Column(head="p", is_number=True),
        ),
        rows=tuple(_line(name, line) for name, line in rows),
    )
    how = (
        f"{anova.trials} {trials} a cell. F of points and operators is against {below}, F of "
        "operators x points against repeatability. Components: differences of such mean squares "
        "over the readings that each mean rests on, floored at zero."
    )
    yield Items(items=(how,), bulleted=False)


def _line(name: str, line: VarianceLine) -> tuple[str, ...]:
    return name, str(line.df), f"{line.ss:.4g}", f"{line.ms:.4g}", *_f_cells(line.test)


def _f_cells(test: Significance | NotYet | None) -> tuple[str, str]:
    if test is None or isinstance(test, NotYet):
        return "", ""
    return f"{test.statistic:.4g}", f"{test.p_value:.2g}" if test.p_value >= 0.001 else "< 0.001"


def _gauge_study(analysis: Analysis, found: Crossed, study: Crossing) -> Iterator[Block]:
    goal = analysis.goal
    yield Paragraph(
        text=f"{found.method}: {found.points} points play the parts, {found.operators} operators; "
        f"{reason_words(study.says)}."
    )
    yield _components(found, Words.of(analysis), goal)
    yield Paragraph(text=f"{_categories(found)}{_width(goal)}")


def _components(found: Crossed, words: Words, goal: Goal | None) -> Table:
    heads = ["s", "95 % of s", "% of total"] + (["% of tolerance"] if goal else [])
    return Table(
        columns=(
            Column(head="component"),
            *(Column(head=head, is_number=True) for head in heads),
        ),
        rows=tuple(_component(share, words) for share in found.shares),
    )


def _component(share: ComponentShare, words: Words) -> tuple[str, ...]:
    estimate = share.estimate
    row = [COMPONENTS[share.component], words.mm(estimate.value), words.range(estimate.interval)]
    row.append("" if isinstance(share.of_total, NotYet) else f"{share.of_total:.1f}")
    if share.of_tolerance is not None:
        row.append(f"{share.of_tolerance:.1f}")
    return tuple(row)


def _categories(found: Crossed) -> str:
    ndc = found.figures if isinstance(found.figures, NotYet) else found.figures.ndc
    return (
        f"Distinct categories (ndc): {ndc if isinstance(ndc, int) else reason_words(ndc.reason)}."
    )


def _width(goal: Goal | None) -> str:
    return f" The tolerance counted is the whole width, {2 * goal.within_mm:g} mm." if goal else ""
