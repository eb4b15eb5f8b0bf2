"""Plans: how many trials each of three questions takes, worked out for a table and a curve."""

import math
from collections.abc import Callable, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.planning import (
    MOST_TRIALS,
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
from hostctl.report.planning.result import (
    Chance,
    Guesses,
    Know,
    KnowBrief,
    KnowRow,
    Overview,
    Prove,
    ProveBrief,
    See,
    SeeBrief,
    SeeRow,
)

ROUND_NUMBERS = (3, 5, 10, 15, 20, 30, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
MOST_POINTS = 54  # of a curve: a terminal has room for so many columns
USUAL_SHARE, USUAL_RATIO, USUAL_SD = 0.2, 2, 0.3


def plan_to_know(within: float, confidence: float) -> Know:
    """Raises ValueError for a share that makes no sense."""

    def chance(n: int) -> float:
        return chance_to_know_sd(n, within)

    n = trials_to_know_sd(within, confidence)
    precisions = [precision_of_sd(m, confidence) for m in _steps(n)]
    return Know(
        within=within,
        confidence=confidence,
        trials=n,
        table=tuple(
            KnowRow(trials=one.n, chance=chance(one.n), sigma_low=one.low, sigma_high=one.high)
            for one in precisions
        ),
        curve=_curve(chance, n),
    )


def plan_to_see(ratio: float, power: float, risk: float) -> See:
    """Raises ValueError for a ratio that makes no sense or takes too many trials."""

    def chance(n: int) -> float:
        return chance_to_see_ratio(n, ratio, risk=risk)

    n = trials_to_see_ratio(ratio, power=power, risk=risk)
    return See(
        ratio=ratio,
        power=power,
        risk=risk,
        trials=n,
        table=tuple(
            SeeRow(trials=m, chance=chance(m), smallest_ratio=smallest_ratio_seen(m, risk=risk))
            for m in _steps(n)
        ),
        curve=_curve(chance, n),
    )


def plan_to_prove(claim: Claim, sigma: float, bias: float, power: float) -> Prove:
    """Raises ValueError where sigma is 0 or less."""
    if not (sigma > 0 and math.isfinite(sigma) and math.isfinite(bias)):
        raise ValueError(f"a standard deviation above 0 is needed, not {sigma}")

    def chance(n: int) -> float:
        return chance_to_prove(claim, n, sigma=sigma, bias=bias)

    n, why = fewest_to_prove(claim, sigma=sigma, bias=bias, power=power)
    return Prove(
        within_mm=claim.tolerance,
        proportion=claim.content,
        confidence=claim.confidence,
        centre=claim.centre,
        sd_mm=sigma,
        bias_mm=bias,
        power=power,
        trials=n,
        why_no_trials=why,
        table=() if n is None else _chances(chance, _steps(n)),
        curve=() if n is None else _curve(chance, n),
    )


def fewest_to_prove(
    claim: Claim, *, sigma: float, bias: float, power: float
) -> tuple[int | None, Reason | None]:
    """The fewest trials that prove it, or None and why no number would do."""
    found = trials_to_prove(claim, sigma=sigma, bias=bias, power=power)
    return (None, found.reason) if isinstance(found, NotYet) else (found, None)


def guessed_spreads(claim: Claim, power: float) -> Guesses:
    """The claim for spreads from half of the tolerance down: what a guess is worth."""
    parts = (0.5, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15)
    return Guesses(
        guesses=tuple(plan_to_prove(claim, part * claim.tolerance, 0.0, power) for part in parts)
    )


def overview(power: float, confidence: float) -> Overview:
    """All three questions for common wishes; the proofs in tolerances."""
    claim = claim_about(1.0, proportion=0.95, confidence=confidence, datum=False)
    know = [plan_to_know(share, confidence) for share in (0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.1)]
    see = {
        ratio: plan_to_see(ratio, power, 1 - confidence)
        for ratio in (4, 3, 2.5, USUAL_RATIO, 1.7, 1.5, 1.3)
    }
    knows = {one.within: KnowBrief(within=one.within, trials=one.trials) for one in know}
    sees = {ratio: SeeBrief(ratio=one.ratio, trials=one.trials) for ratio, one in see.items()}
    proves = {
        one.sd_mm: ProveBrief(
            sd_in_tolerances=one.sd_mm, trials=one.trials, why_no_trials=one.why_no_trials
        )
        for one in reversed(guessed_spreads(claim, power).guesses)
    }
    return Overview(
        power=power,
        confidence=confidence,
        know=tuple(knows.values()),
        see=tuple(sees.values()),
        prove=tuple(proves.values()),
        usual_know=knows[USUAL_SHARE],
        usual_see=sees[USUAL_RATIO],
        usual_prove=proves[USUAL_SD],
        curve=see[USUAL_RATIO].curve,
    )


def claim_about(within_mm: float, *, proportion: float, confidence: float, datum: bool) -> Claim:
    """The claim; about a datum where bias counts, else about the method's own long-run mean."""
    return Claim(
        tolerance=within_mm,
        content=proportion,
        confidence=confidence,
        centre=Centre.DATUM if datum else Centre.LONG_RUN_MEAN,
    )


def spread_out(last: int, *, least: int = 2) -> list[int]:
    """Numbers of trials from `least` to `last`, evenly spaced, at most MOST_POINTS."""
    count = min(MOST_POINTS, last - least + 1)
    if count < 2:
        return [least]
    return [least + round(i * (last - least) / (count - 1)) for i in range(count)]


def _steps(n: int) -> list[int]:
    """Round numbers about n, and n itself."""
    near = [m for m in ROUND_NUMBERS if n / 12 <= m <= 2.6 * n]
    return sorted({*near, n})


def _curve(chance: Callable[[int], float], n: int) -> tuple[Chance, ...]:
    last = min(max(round(1.6 * n), n + 5), MOST_TRIALS)
    return _chances(chance, spread_out(last))


def _chances(chance: Callable[[int], float], trials: Sequence[int]) -> tuple[Chance, ...]:
    return tuple(Chance(trials=at.n, chance=at.chance) for at in power_curve(chance, trials))
