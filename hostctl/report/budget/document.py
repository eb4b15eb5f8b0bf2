"""A budget as a document: the answer, its lines, the simulation beside it, cautions, method."""

import math
from collections.abc import Iterable

from hostctl.report.budget.answer import answer, judged
from hostctl.report.budget.cautions import cautions
from hostctl.report.budget.explained import explanation
from hostctl.report.budget.result import Contribution, UncertaintyBudget
from hostctl.report.document.blocks import (
    Block,
    Column,
    Document,
    Items,
    Paragraph,
    Role,
    Table,
)
from hostctl.report.document.question import Question
from hostctl.report.document.significant import beside, chance, percent, short_number, significant

LONGEST_NAME = 29


def budget_document(budget: UncertaintyBudget, explained: bool) -> Document:
    """The whole of it; explained: with the formulas, and this budget's numbers in them."""
    formulas = explanation(budget) if explained else ()
    return Document(title="Uncertainty budget", blocks=(*_blocks(budget), *formulas))


BUDGET = Question(name="budget", version=1, result=UncertaintyBudget, document=budget_document)


def _blocks(budget: UncertaintyBudget) -> Iterable[Block]:
    yield Paragraph(text=answer(budget), role=Role.ANSWER)
    if budget.conformity is not None:
        yield Paragraph(text=judged(budget.conformity, budget.unit), role=Role.ANSWER)
    yield _lines(budget)
    yield _methods(budget)
    if said := tuple(cautions(budget)):
        yield Items(items=said, role=Role.CAUTION)
    yield Paragraph(text=_how(budget))


def _lines(budget: UncertaintyBudget) -> Table:
    heads = (f"u ({budget.unit})", "sensitivity", "share", "df")
    combined = budget.propagation
    total = ("together", "", significant(combined.u, 3), "", "", _df(combined.df))
    return Table(
        columns=(
            Column(head="contribution"),
            Column(head="law"),
            *(Column(head=head, is_number=True) for head in heads),
        ),
        rows=(*(_row(line, budget.unit) for line in budget.contributions), total),
    )


def _row(line: Contribution, unit: str) -> tuple[str, ...]:
    name = line.name
    u = significant(line.u, 2)
    return (
        name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…",
        line.law.value,
        u if line.unit == unit else f"{u} {line.unit}",
        short_number(line.sensitivity),
        percent(line.share),
        _df(line.df),
    )


def _df(df: float) -> str:
    return "∞" if math.isinf(df) else f"{df:.1f}".removesuffix(".0")


def _methods(budget: UncertaintyBudget) -> Table:
    combined, simulated = budget.propagation, budget.simulation
    u = combined.expanded
    heads = (f"value ({budget.unit})", "u", f"from, {chance(budget.confidence)}", "to", "width")
    rows = tuple(
        (
            by,
            beside(value, u, digits=3),
            significant(spread, 3),
            beside(low, u, digits=3),
            beside(high, u, digits=3),
            beside(high - low, u, digits=3),
        )
        for by, value, spread, (low, high) in (
            ("propagation", combined.value, combined.u, combined.interval),
            ("simulation", simulated.value, simulated.u, simulated.interval),
            ("  its shortest", simulated.value, simulated.u, simulated.shortest),
        )
    )
    columns = (Column(head="by"), *(Column(head=head, is_number=True) for head in heads))
    return Table(columns=columns, rows=rows)


def _how(budget: UncertaintyBudget) -> str:
    combined, simulated = budget.propagation, budget.simulation
    df = (
        "at infinite degrees of freedom"
        if math.isinf(combined.df)
        else f"at {combined.df_used:.0f} of {combined.df:.1f} effective degrees of freedom"
    )
    settled = "" if simulated.settled else " (not yet settled to a fifth of what is allowed)"
    allowed = significant(budget.allowed_difference, 1)
    beyond = budget.agrees and budget.difference > budget.allowed_difference
    unchanged = ", and no digit of the answer changes" if beyond else ""
    return (
        f"Propagation: JCGM 100:2008, u_c by equation 13, degrees of freedom by G.2b (Welch and "
        f"Satterthwaite), U = k u_c with k = {combined.coverage_factor:.3f} from Student's t {df}. "
        f"Simulation: JCGM 101:2008, 7.9, {simulated.trials:,} trials, seed {simulated.seed}"
        f"{settled}; the two compared by 8.1: their ends differ by at most "
        f"{significant(budget.difference)}, "
        f"allowed is {allowed}{unchanged}. u is the standard uncertainty, "
        "share its part of the variance, df how well u is known (∞: taken as exact)."
    )
