"""A budget worked out both ways."""

import math
from collections.abc import Mapping
from typing import assert_never

import numpy as np

from hostctl.config.budgets.budget import BudgetFile
from hostctl.config.budgets.contributions import Other, Part, RigRepeatability
from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.claims.conformity import ISO_14253_1, Limits, judge
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets, Verdict
from hostctl.metrology.uncertainty.budget import Budget
from hostctl.metrology.uncertainty.contributions import Contribution as Given
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
from hostctl.metrology.uncertainty.monte_carlo import (
    MOST_TRIALS,
    MonteCarlo,
    agreement,
    propagate,
)
from hostctl.metrology.uncertainty.propagation import BudgetLine, Combined, combine
from hostctl.report.budget.mapping import budget_of
from hostctl.report.budget.result import (
    Conformity,
    Contribution,
    Correlated,
    Decision,
    LargestPart,
    LawName,
    Propagation,
    RigSpread,
    Simulation,
    UncertaintyBudget,
)
from hostctl.report.document.significant import beside

MUCH = 0.5
FEW_DF = 10
_NAMES: dict[type[Law], LawName] = {
    Normal: LawName.NORMAL,
    ScaledT: LawName.STUDENTS_T,
    Uniform: LawName.UNIFORM,
    Triangular: LawName.TRIANGULAR,
    Arcsine: LawName.ARCSINE,
    InexactUniform: LawName.INEXACT,
    CosineShortfall: LawName.COSINE,
    Product: LawName.PRODUCT,
}


def work_out(
    file: BudgetFile,
    rigs: Mapping[int, RigSpread],
    *,
    seed: int,
    most_trials: int = MOST_TRIALS,
) -> UncertaintyBudget:
    """Work the budget out. rigs: by run, each rig check the file refers to.

    Raises ValueError where it contradicts itself; ArithmeticError where its numbers are too large
    or too small for any computer.
    """
    budget = budget_of(file, rigs)
    with np.errstate(all="ignore"):  # what overflows is refused as not finite
        combined = combine(budget)
        if combined.u == 0 and any(line.contribution for line in combined.lines):
            raise ArithmeticError("the squares of these uncertainties vanish")
        simulated = propagate(budget, np.random.default_rng(seed), most_trials=most_trials)
    compared = agreement(combined, simulated)
    difference = max(compared.low_difference, compared.high_difference)
    return UncertaintyBudget(
        measurand=file.measurand,
        unit=file.unit,
        confidence=combined.confidence,
        value_matters=file.gives_value,
        model=file.model,
        contributions=_contributions(file, budget, combined),
        correlations=tuple(
            Correlated(first=pair.between[0], second=pair.between[1], r=pair.r)
            for pair in file.correlations
        ),
        rig_checks=tuple(rigs.values()),
        propagation=_propagation(combined),
        simulation=_simulation(budget, simulated, seed),
        difference=difference,
        allowed_difference=compared.tolerance,
        agrees=difference <= compared.tolerance or _stated_alike(combined, simulated),
        largest_part=_largest_part(budget, combined),
        few_df=combined.u > 0 and combined.df_used < FEW_DF,
        warnings=combined.cautions,
        conformity=_conformity(file, combined),
    )


def _conformity(file: BudgetFile, combined: Combined) -> Conformity | None:
    """By U at k = 2, as the rule for accepting has it."""
    if file.limits is None:
        return None
    lower, upper = file.limits.lower, file.limits.upper
    limits = Limits(
        lower=-math.inf if lower is None else lower, upper=math.inf if upper is None else upper
    )
    expanded = 2.0 * combined.u
    found = judge(combined.value, expanded, limits)
    return Conformity(
        decision=_decision(found),
        lower=lower,
        upper=upper,
        expanded=expanded,
        guard=ISO_14253_1 * expanded,
        why=found.why,
    )


def _decision(found: Verdict) -> Decision:
    match found:
        case Meets():
            return "accepted"
        case DoesNotMeet():
            return "rejected"
        case CannotTellYet():
            return "cannot tell"
        case never:
            assert_never(never)


def _stated_alike(combined: Combined, simulated: MonteCarlo) -> bool:
    """Whether either way states the same ± about the value, to the last digit of U."""
    u, ends = combined.expanded, simulated.symmetric
    stated = {
        beside(reach, u) for reach in (u, combined.value - ends.low, ends.high - combined.value)
    }
    return len(stated) == 1


def _contributions(
    file: BudgetFile, budget: Budget, combined: Combined
) -> tuple[Contribution, ...]:
    return tuple(
        _contribution(part, given, law.law, line, file.unit)
        for part, given, law, line in zip(
            file.parts, budget.contributions, budget.inputs, combined.lines, strict=True
        )
    )


def _contribution(
    part: Part, given: Given, law: Law, line: BudgetLine, measurands_unit: str
) -> Contribution:
    return Contribution(
        name=line.name,
        law=_NAMES[type(law)],
        unit=(part.unit if isinstance(part, Other) else None) or measurands_unit,
        value=line.value,
        u=line.u,
        df=line.df,
        sensitivity=line.sensitivity,
        contribution=line.contribution,
        share=line.share,
        given=given,
        from_run=part.from_run if isinstance(part, RigRepeatability) else None,
        relative_doubt=part.relative_doubt if isinstance(part, Other) else None,
    )


def _propagation(combined: Combined) -> Propagation:
    return Propagation(
        value=combined.value,
        u=combined.u,
        df=combined.df,
        df_used=combined.df_used,
        coverage_factor=combined.coverage_factor,
        expanded=combined.expanded,
        interval=_ends(combined.interval),
        source=combined.source,
    )


def _simulation(budget: Budget, simulated: MonteCarlo, seed: int) -> Simulation:
    return Simulation(
        value=simulated.value,
        u=simulated.u,
        interval=_ends(simulated.symmetric),
        shortest=_ends(simulated.shortest),
        trials=simulated.trials,
        seed=seed,
        settled=simulated.settled,
        endless_tails=_has_endless_tails(budget, simulated),
        source=simulated.source,
    )


def _ends(interval: Interval) -> tuple[float, float]:
    return interval.low, interval.high


def _has_endless_tails(budget: Budget, simulated: MonteCarlo) -> bool:
    """Whether some law has no variance: known of Student's t, else seen in u beside the width."""
    laws = [one.law for one in budget.inputs]
    if any(isinstance(law, ScaledT) and law.df <= 2 and law.scale > 0 for law in laws):
        return True
    ends = simulated.symmetric
    usual = (ends.high - ends.low) / 2 / normal_quantile((1 + budget.confidence) / 2)
    return simulated.u > 2 * usual > 0


def _largest_part(budget: Budget, combined: Combined) -> LargestPart | None:
    """What is most of the variance; correlated parts have no shares of their own."""
    largest = max(combined.lines, key=lambda line: line.share)
    if combined.u == 0 or largest.share <= MUCH or budget.correlations:
        return None
    return LargestPart(name=largest.name, share=largest.share)
