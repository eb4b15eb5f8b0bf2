"""What a reader must know before believing a budget's result."""

from collections.abc import Iterable

from hostctl.report.budget.result import UncertaintyBudget
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import percent, significant, whole


def cautions(budget: UncertaintyBudget) -> Iterable[str]:
    """Sentences, the weightiest first."""
    yield from _of_simulation(budget)
    yield from (_sentence(reason_words(one)) for one in budget.warnings)
    if budget.propagation.u == 0:
        return
    if (largest := budget.largest_part) is not None:
        yield (
            f"The largest part is {largest.name}, {percent(largest.share)} of the variance. Mend "
            "that first: anything else hardly helps."
        )
    if budget.few_df:
        yield (
            f"The uncertainty itself rests on {whole(budget.propagation.df_used)} degrees of "
            "freedom, which is few: k is large because of it, and more readings would lower it."
        )
    for rig in budget.rig_checks:
        yield from rig.doubts
        if rig.bound:
            yield (
                f"Run {rig.run} shows too little spread for its resolution: the upper bound of "
                f"{significant(rig.sd_mm)} mm was taken, which errs on the safe side."
            )


def _of_simulation(budget: UncertaintyBudget) -> Iterable[str]:
    unit, allowed = budget.unit, significant(budget.allowed_difference, 1)
    if not budget.agrees:
        part = budget.difference / budget.propagation.expanded
        yield (
            f"The two methods disagree: their ends part by {significant(budget.difference)} {unit} "
            f"({significant(100 * part)} % of U; {allowed} {unit} is allowed), which changes a "
            "stated digit. So the answer above is the simulation's, which takes the laws as they "
            "are."
        )
    if budget.simulation.endless_tails:
        yield (
            "The simulation's value and u mean nothing here: a law has such long tails (Student's "
            "t on 2 degrees of freedom or fewer, a quotient by what may be near 0) that they never "
            "settle. Its interval does."
        )


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."
