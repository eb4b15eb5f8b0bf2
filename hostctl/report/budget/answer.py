"""A budget's result in a sentence."""

from hostctl.report.budget.result import Conformity, UncertaintyBudget
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import beside, chance, significant


def answer(budget: UncertaintyBudget) -> str:
    """By propagation; by simulation where the two methods disagree."""
    combined = budget.propagation
    sure = chance(budget.confidence)
    measurand = budget.measurand
    what = measurand if measurand[0].isupper() else f"The {measurand}"
    if combined.u == 0:
        return f"{what} has no uncertainty: every contribution in the file is zero."
    if budget.agrees:
        below = above = combined.expanded
        how = f"k = {combined.coverage_factor:.2f}, {sure}"
    else:
        low, high = budget.simulation.interval
        below, above = combined.value - low, high - combined.value
        how = f"{sure}, by simulation"
    return f"{what} {_known(budget, below, above)} ({how}){_after(budget)}."


def _known(budget: UncertaintyBudget, below: float, above: float) -> str:
    """Plus or minus where both sides print alike, else from and to."""
    u, unit, value = max(below, above), budget.unit, budget.propagation.value
    alike = beside(below, u) == beside(above, u)
    if budget.value_matters:
        if alike:
            return f"is {beside(value, u)} {unit} ± {significant(u)} {unit}"
        low, high = beside(value - below, u), beside(value + above, u)
        return f"is {beside(value, u)} {unit}, and lies between {low} and {high} {unit}"
    if alike:
        return f"is known to ±{significant(u)} {unit}"
    low, high = beside(-below, u, sign=True), beside(above, u, sign=True)
    return f"is known to within {low} and {high} {unit}"


def _after(budget: UncertaintyBudget) -> str:
    """The correction, where it is large enough to show."""
    value, u = budget.propagation.value, budget.propagation.expanded
    shown = beside(value, u, sign=True)
    if budget.value_matters or not any(digit in shown for digit in "123456789"):
        return ""
    return f", once a correction of {shown} {budget.unit} has been added"


def judged(found: Conformity, unit: str) -> str:
    """Accepted, rejected or neither, and the guard band that this takes."""
    if found.lower is not None and found.upper is not None:
        limits = f"{found.lower:g} to {found.upper:g} {unit}"
    elif found.upper is not None:
        limits = f"at most {found.upper:g} {unit}"
    else:
        limits = f"at least {found.lower:g} {unit}"
    guard = significant(found.guard)
    return (
        f"Limits {limits}: {found.decision}, as {reason_words(found.why)}. The guard band, {guard} "
        f"{unit} (0.83 U at k = 2), keeps the chance of accepting wrongly, or rejecting wrongly, "
        "below 5 % (ISO 14253-1)."
    )
