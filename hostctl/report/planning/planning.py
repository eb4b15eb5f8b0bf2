"""Plans: how many trials each of three questions takes, worked out for a table and a curve."""

import math
from collections.abc import Callable, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.assumed import READ_FINELY, AssumedStudy, RigAssumed
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.looks import FIRST_LOOK
from hostctl.metrology.claims.planning import (
    MOST_TRIALS,
    Chances,
    chance_to_know_sd,
    power_curve,
    precision_of_sd,
    proving,
    seeing,
    smallest_ratio_seen,
    trials_to_know_sd,
    trials_to_prove,
)
from hostctl.report.planning.result import (
    Assumed,
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


def plan_to_see(
    ratio: float,
    power: float,
    risk: float,
    study: AssumedStudy = READ_FINELY,
    sigma: float | None = None,
) -> See:
    """sigma: the smaller spread; None: any that is read finely.

    Raises ValueError for a ratio that makes no sense or takes too many trials.
    """
    chances = seeing(ratio, risk=risk, sigma=sigma, study=study)
    n = chances.fewest(power, MOST_TRIALS)
    chances.look_about(n)
    read_as_points = not chances.by_trial and study.rig is None
    return See(
        ratio=ratio,
        power=power,
        risk=risk,
        expected_sd_mm=sigma,
        assumed=_assumed(study, chances, read_to=sigma is not None),
        trials=n,
        table=tuple(
            SeeRow(
                trials=m,
                chance=chances.chance(m),
                smallest_ratio=smallest_ratio_seen(m, risk=risk, study=study)
                if read_as_points
                else None,
            )
            for m in _steps(n, study.least())
        ),
        curve=_curve(chances.chance, n, study.least()),
    )


def plan_to_prove(
    claim: Claim, sigma: float, bias: float, power: float, study: AssumedStudy = READ_FINELY
) -> Prove:
    """Raises ValueError where sigma is 0 or less."""
    if not (sigma > 0 and math.isfinite(sigma) and math.isfinite(bias)):
        raise ValueError(f"a standard deviation above 0 is needed, not {sigma}")
    chances = proving(claim, sigma=sigma, bias=bias, study=study)
    found = trials_to_prove(
        claim, sigma=sigma, bias=bias, power=power, study=study, chances=chances
    )
    n, why = number_or_why(found)
    if n is not None:
        chances.look_about(n)
    about_datum, least = claim.centre is Centre.DATUM, study.least()
    return Prove(
        within_mm=claim.tolerance,
        proportion=claim.content,
        confidence=claim.confidence,
        centre=claim.centre,
        sd_mm=sigma,
        bias_mm=bias,
        power=power,
        assumed=_assumed(study, chances, read_to=not about_datum),
        trials=n,
        why_no_trials=why,
        table=() if n is None else _chances(chances.chance, _steps(n, least)),
        curve=() if n is None else _curve(chances.chance, n, least),
    )


def number_or_why(found: int | NotYet) -> tuple[int | None, Reason | None]:
    """A number of trials, or why none would do: the other is None."""
    return (None, found.reason) if isinstance(found, NotYet) else (found, None)


def _assumed(study: AssumedStudy, chances: Chances, *, read_to: bool) -> Assumed:
    """read_to: whether graduations and rig play a part."""
    rig = study.rig if read_to and isinstance(study.rig, RigAssumed) else None
    return Assumed(
        resolution_mm=study.resolution or None if read_to else None,
        blocks=study.blocks,
        pairs=study.pairs,
        rig_sd_mm=rig.sd if rig else None,
        rig_trials=rig.trials if rig else None,
        by_trial=chances.by_trial,
    )


def guessed_spreads(claim: Claim, power: float, study: AssumedStudy = READ_FINELY) -> Guesses:
    """The claim for spreads from half of the tolerance down: what a guess is worth."""
    parts = (0.5, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15)
    return Guesses(
        guesses=tuple(
            plan_to_prove(claim, part * claim.tolerance, 0.0, power, study) for part in parts
        )
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
        looks=FIRST_LOOK,
    )


def spread_out(last: int, *, least: int = 2) -> list[int]:
    """Numbers of trials from `least` to `last`, evenly spaced, at most MOST_POINTS."""
    count = min(MOST_POINTS, last - least + 1)
    if count < 2:
        return [least]
    return [least + round(i * (last - least) / (count - 1)) for i in range(count)]


def _steps(n: int, least: int = 2) -> list[int]:
    """Round numbers about n, and n itself."""
    near = [m for m in ROUND_NUMBERS if max(n / 12, least) <= m <= 2.6 * n]
    return sorted({*near, n})


def _curve(chance: Callable[[int], float], n: int, least: int = 2) -> tuple[Chance, ...]:
    last = min(max(round(1.6 * n), n + 5), MOST_TRIALS)
    return _chances(chance, spread_out(last, least=least))


def _chances(chance: Callable[[int], float], trials: Sequence[int]) -> tuple[Chance, ...]:
    return tuple(Chance(trials=at.n, chance=at.chance) for at in power_curve(chance, trials))
