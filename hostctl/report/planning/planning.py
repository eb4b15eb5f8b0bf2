"""Plans: how many trials each of three questions takes, worked out for a table and a curve."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.planning import (
    MOST_TRIALS,
    PowerPoint,
    SpreadPrecision,
    chance_to_know_sd,
    chance_to_prove,
    chance_to_see_ratio,
    power_curve,
    precision_of_sd,
    smallest_ratio_seen,
    trials_to_know_sd,
    trials_to_prove,
    trials_to_see_ratio,
)
from hostctl.report.planning.curve import spread_out

ROUND_NUMBERS = (3, 5, 10, 15, 20, 30, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowPlan:
    """Trials after which s lies within ± `within` (a share) of σ, with that confidence."""

    within: float
    confidence: float
    n: int
    rows: tuple[tuple[SpreadPrecision, PowerPoint], ...]
    curve: tuple[PowerPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioPlan:
    """Trials of each of two methods that show a true ratio of their spreads."""

    ratio: float
    power: float
    risk: float
    n: int
    rows: tuple[tuple[PowerPoint, float], ...]  # with the smallest ratio that would show
    curve: tuple[PowerPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimPlan:
    """Trials that prove a claim, were `sigma` and `bias` the truth; NotYet where none could."""

    claim: Claim
    sigma: float
    bias: float
    power: float
    n: int | NotYet
    rows: tuple[PowerPoint, ...]
    curve: tuple[PowerPoint, ...]


def plan_to_know(within: float, confidence: float) -> KnowPlan:
    """Raises ValueError in words for a share that makes no sense."""

    def chance(n: int) -> float:
        return chance_to_know_sd(n, within)

    n = trials_to_know_sd(within, confidence)
    precisions = [precision_of_sd(m, confidence) for m in _steps(n)]
    return KnowPlan(
        within=within,
        confidence=confidence,
        n=n,
        rows=tuple(zip(precisions, power_curve(chance, _steps(n)), strict=True)),
        curve=_curve(chance, n),
    )


def plan_to_see(ratio: float, power: float, risk: float) -> RatioPlan:
    """Raises ValueError in words for a ratio that makes no sense or takes too many trials."""

    def chance(n: int) -> float:
        return chance_to_see_ratio(n, ratio, risk=risk)

    n = trials_to_see_ratio(ratio, power=power, risk=risk)
    smallest = [smallest_ratio_seen(m, risk=risk) for m in _steps(n)]
    return RatioPlan(
        ratio=ratio,
        power=power,
        risk=risk,
        n=n,
        rows=tuple(zip(power_curve(chance, _steps(n)), smallest, strict=True)),
        curve=_curve(chance, n),
    )


def plan_to_prove(claim: Claim, sigma: float, bias: float, power: float) -> ClaimPlan:
    """Raises ValueError where sigma is 0 or less; NotYet as `n` where no number would do."""
    if not (sigma > 0 and math.isfinite(sigma) and math.isfinite(bias)):
        raise ValueError(f"a standard deviation above 0 is needed, not {sigma}")

    def chance(n: int) -> float:
        return chance_to_prove(claim, n, sigma=sigma, bias=bias)

    n = trials_to_prove(claim, sigma=sigma, bias=bias, power=power)
    steps = [] if isinstance(n, NotYet) else _steps(n)
    return ClaimPlan(
        claim=claim,
        sigma=sigma,
        bias=bias,
        power=power,
        n=n,
        rows=power_curve(chance, steps),
        curve=() if isinstance(n, NotYet) else _curve(chance, n),
    )


def guessed_spreads(claim: Claim, power: float) -> tuple[ClaimPlan, ...]:
    """The claim for spreads from half of the tolerance down: what a guess is worth."""
    centred = (0.5, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15)
    return tuple(plan_to_prove(claim, part * claim.tolerance, 0.0, power) for part in centred)


def overview_plans(
    power: float, confidence: float
) -> tuple[list[KnowPlan], list[RatioPlan], list[ClaimPlan]]:
    """All three questions for common wishes, the cheapest first; lengths in tolerances."""
    claim = claim_about(1.0, proportion=0.95, confidence=confidence, datum=False)
    return (
        [plan_to_know(share, confidence) for share in (0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1)],
        [plan_to_see(ratio, power, 1 - confidence) for ratio in (4, 3, 2.5, 2, 1.7, 1.5, 1.3)],
        list(reversed(guessed_spreads(claim, power))),
    )


def claim_about(within_mm: float, *, proportion: float, confidence: float, datum: bool) -> Claim:
    """The claim; about a datum where bias counts, else about the method's own long-run mean."""
    return Claim(
        tolerance=within_mm,
        content=proportion,
        confidence=confidence,
        centre=Centre.DATUM if datum else Centre.LONG_RUN_MEAN,
    )


def _steps(n: int) -> list[int]:
    """Round numbers about n, and n itself."""
    near = [m for m in ROUND_NUMBERS if n / 12 <= m <= 2.6 * n]
    return sorted({*near, n})


def _curve(chance: Callable[[int], float], n: int) -> tuple[PowerPoint, ...]:
    last = min(max(round(1.6 * n), n + 5), MOST_TRIALS)
    return power_curve(chance, spread_out(last))
