"""A budget as text: the answer in a sentence, the table, the simulation beside it, cautions."""

import math

from hostctl.config.contributions import Other, Part
from hostctl.metrology.uncertainty.laws import (
    Arcsine,
    CosineShortfall,
    InexactUniform,
    Law,
    Normal,
    Product,
    ScaledT,
    Triangular,
    Uniform,
)
from hostctl.metrology.uncertainty.propagation import BudgetLine
from hostctl.report.budget.budget import WorkedOut, cautions
from hostctl.report.document.significant import beside, chance, percent, short_number, significant
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped

LONGEST_NAME = 29
_LAW_WORDS: dict[type[Law], str] = {
    Normal: "normal",
    ScaledT: "Student's t",
    Uniform: "uniform",
    Triangular: "triangular",
    Arcsine: "arcsine",
    InexactUniform: "inexact",
    CosineShortfall: "cosine",
    Product: "product",
}


def budget_text(worked: WorkedOut) -> str:
    """The whole of it, but for the formulas."""
    parts = [
        wrapped(answer(worked)),
        _lines_table(worked),
        _methods_table(worked),
        "\n".join(wrapped(sentence, first="• ") for sentence in cautions(worked)),
        wrapped(_how(worked)),
    ]
    return "\n\n".join(part for part in parts if part)


def answer(worked: WorkedOut) -> str:
    """The result in a sentence; by simulation where the two methods disagree."""
    combined = worked.combined
    sure = chance(combined.confidence)
    measurand = worked.file.measurand
    what = measurand if measurand[0].isupper() else f"The {measurand}"
    if combined.u == 0:
        return f"{what} has no uncertainty: every contribution in the file is zero."
    if worked.agrees:
        below = above = combined.expanded
        how = f"k = {combined.coverage_factor:.2f}, {sure}"
    else:
        ends = worked.simulated.symmetric
        below, above = combined.value - ends.low, ends.high - combined.value
        how = f"{sure}, by simulation"
    return f"{what} {_known(worked, below, above)} ({how}){_after(worked)}."


def _known(worked: WorkedOut, below: float, above: float) -> str:
    """Plus or minus where both sides print alike, else from and to."""
    u, unit, value = max(below, above), worked.file.unit, worked.combined.value
    alike = beside(below, u) == beside(above, u)
    if worked.value_matters:
        if alike:
            return f"is {beside(value, u)} {unit} ± {significant(u)} {unit}"
        low, high = beside(value - below, u), beside(value + above, u)
        return f"is {beside(value, u)} {unit}, and lies between {low} and {high} {unit}"
    if alike:
        return f"is known to ±{significant(u)} {unit}"
    low, high = beside(-below, u, sign=True), beside(above, u, sign=True)
    return f"is known to within {low} and {high} {unit}"


def _after(worked: WorkedOut) -> str:
    """The correction, where it is large enough to show."""
    value, u = worked.combined.value, worked.combined.expanded
    shown = beside(value, u, sign=True)
    if worked.value_matters or not any(digit in shown for digit in "123456789"):
        return ""
    return f", once a correction of {shown} {worked.file.unit} has been added"


def _lines_table(worked: WorkedOut) -> str:
    unit = worked.file.unit
    heads = ("contribution", "law", f"u ({unit})", "sensitivity", "share", "df")
    rows = [
        _row(line, one.law, _own_unit(part, unit))
        for line, one, part in zip(
            worked.combined.lines, worked.budget.inputs, worked.file.parts, strict=True
        )
    ]
    combined = worked.combined
    total = ["together", "", significant(combined.u, 3), "", "", _df(combined.df)]
    return table(heads, [*rows, total], right={2, 3, 4, 5})


def _row(line: BudgetLine, law: Law, own_unit: str) -> list[str]:
    name = line.name
    short = name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"
    u = significant(line.u, 2)
    return [
        short,
        _LAW_WORDS[type(law)],
        f"{u} {own_unit}" if own_unit else u,
        short_number(line.sensitivity),
        percent(line.share),
        _df(line.df),
    ]


def _own_unit(part: Part, measurands: str) -> str:
    """The contribution's unit, where it isn't the measurand's."""
    unit = part.unit if isinstance(part, Other) else None
    return unit if unit and unit != measurands else ""


def _df(df: float) -> str:
    return "∞" if math.isinf(df) else f"{df:.1f}".removesuffix(".0")


def _methods_table(worked: WorkedOut) -> str:
    combined, simulated, unit = worked.combined, worked.simulated, worked.file.unit
    u = combined.expanded
    sure = chance(combined.confidence)
    heads = ("by", f"value ({unit})", "u", f"from, {sure}", "to", "width")
    rows = [
        [
            by,
            beside(value, u, digits=3),
            significant(spread, 3),
            beside(ends.low, u, digits=3),
            beside(ends.high, u, digits=3),
            beside(ends.high - ends.low, u, digits=3),
        ]
        for by, value, spread, ends in (
            ("propagation", combined.value, combined.u, combined.interval),
            ("simulation", simulated.value, simulated.u, simulated.symmetric),
            ("  its shortest", simulated.value, simulated.u, simulated.shortest),
        )
    ]
    return table(heads, rows, right={1, 2, 3, 4, 5})


def _how(worked: WorkedOut) -> str:
    combined, simulated = worked.combined, worked.simulated
    df = (
        "at infinite degrees of freedom"
        if math.isinf(combined.df)
        else f"at {combined.df_used:.0f} of {combined.df:.1f} effective degrees of freedom"
    )
    settled = "" if simulated.settled else " (not yet settled to a fifth of what is allowed)"
    return (
        f"Propagation: JCGM 100:2008, u_c by equation 13, degrees of freedom by G.2b (Welch and "
        f"Satterthwaite), U = k u_c with k = {combined.coverage_factor:.3f} from Student's t {df}. "
        f"Simulation: JCGM 101:2008, 7.9, {simulated.trials:,} trials, seed {worked.seed}"
        f"{settled}; the two compared by 8.1: their ends differ by at most "
        f"{significant(worked.difference)}, "
        f"allowed is {significant(worked.agreement.tolerance, 1)}. u is the standard uncertainty, "
        "share its part of the variance, df how well u is known (∞: taken as exact)."
    )
