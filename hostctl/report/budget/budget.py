"""A budget worked out both ways, and what a reader must know before believing the result."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from hostctl.config.budget import BudgetFile
from hostctl.config.contributions import Other
from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.uncertainty.budget import Budget
from hostctl.metrology.uncertainty.laws import ScaledT
from hostctl.metrology.uncertainty.monte_carlo import (
    MOST_TRIALS,
    Agreement,
    MonteCarlo,
    agreement,
    propagate,
)
from hostctl.metrology.uncertainty.propagation import Combined, combine
from hostctl.report.budget.mapping import RigSpread, budget_of
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import percent, significant, whole

MUCH = 0.5
FEW_DF = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """The file, the budget it makes, and the results of both methods."""

    file: BudgetFile
    budget: Budget
    rigs: Mapping[int, RigSpread]
    combined: Combined
    simulated: MonteCarlo
    agreement: Agreement
    seed: int

    @property
    def value_matters(self) -> bool:
        """Whether the file gives the measurand itself, not merely corrections to a reading."""
        others = (part for part in self.file.parts if isinstance(part, Other))
        return self.file.formula is not None or any(part.value for part in others)

    @property
    def difference(self) -> float:
        """By how much the two methods' intervals part, at the end where they part more."""
        return max(self.agreement.low_difference, self.agreement.high_difference)

    @property
    def agrees(self) -> bool:
        """Whether the interval by propagation holds to the digits that are stated."""
        return self.difference <= self.agreement.tolerance


def work_out(
    file: BudgetFile,
    rigs: Mapping[int, RigSpread],
    *,
    seed: int,
    most_trials: int = MOST_TRIALS,
) -> WorkedOut:
    """Work the budget out. Raises ValueError, in words, where it contradicts itself.

    ArithmeticError where its numbers are too large or too small for any computer.
    """
    budget = budget_of(file, rigs)
    with np.errstate(all="ignore"):  # what overflows is refused as not finite
        combined = combine(budget)
        if combined.u == 0 and any(line.contribution for line in combined.lines):
            raise ArithmeticError("the squares of these uncertainties vanish")
        simulated = propagate(budget, np.random.default_rng(seed), most_trials=most_trials)
    return WorkedOut(
        file=file,
        budget=budget,
        rigs=rigs,
        combined=combined,
        simulated=simulated,
        agreement=agreement(combined, simulated),
        seed=seed,
    )


def cautions(worked: WorkedOut) -> Iterable[str]:
    """Sentences, the weightiest first."""
    combined = worked.combined
    yield from _of_simulation(worked)
    yield from (_sentence(reason_words(one)) for one in combined.cautions)
    if combined.u == 0:
        return
    largest = max(combined.lines, key=lambda line: line.share)
    if largest.share > MUCH and not worked.budget.correlations:
        yield (
            f"The largest part is {largest.name}, {percent(largest.share)} of the variance. Mend "
            "that first: anything else hardly helps."
        )
    if combined.df_used < FEW_DF:
        yield (
            f"The uncertainty itself rests on {whole(combined.df_used)} degrees of freedom, which "
            "is few: k is large because of it, and more readings would lower it."
        )
    for rig in worked.rigs.values():
        yield from rig.doubts
        if rig.bound:
            yield (
                f"Run {rig.run} shows too little spread for its resolution: the upper bound of "
                f"{significant(rig.sd_mm)} mm was taken, which errs on the safe side."
            )


def _of_simulation(worked: WorkedOut) -> Iterable[str]:
    unit, allowed = worked.file.unit, significant(worked.agreement.tolerance, 1)
    if not worked.agrees:
        part = worked.difference / worked.combined.expanded
        yield (
            f"The two methods disagree: their ends part by {significant(worked.difference)} {unit} "
            f"({significant(100 * part)} % of U), where {allowed} {unit} is allowed. So the answer "
            "above is the simulation's, which takes the laws as they are."
        )
    if _has_endless_tails(worked):
        yield (
            "The simulation's value and u mean nothing here: a law has such long tails (Student's "
            "t on 2 degrees of freedom or fewer, a quotient by what may be near 0) that they never "
            "settle. Its interval does."
        )


def _has_endless_tails(worked: WorkedOut) -> bool:
    """Whether some law has no variance: known of Student's t, else seen in u beside the width."""
    laws = [one.law for one in worked.budget.inputs]
    if any(isinstance(law, ScaledT) and law.df <= 2 and law.scale > 0 for law in laws):
        return True
    ends = worked.simulated.symmetric
    usual = (ends.high - ends.low) / 2 / normal_quantile((1 + worked.combined.confidence) / 2)
    return worked.simulated.u > 2 * usual > 0


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."
