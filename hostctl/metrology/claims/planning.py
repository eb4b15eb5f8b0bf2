"""How many trials it takes to know a spread, to tell two apart, to prove a claim (normal law).

By the rule that will judge: formulas are exact for readings as points; where rounding shows or a
rig check is taken out, they are set right by trial (`by_trial`, which loads numpy).
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Protocol

from hostctl.metrology.basis.distributions import (
    chi_square_cdf,
    f_quantile,
    f_sf,
    normal_quantile,
)
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Number, Reason, Why
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.assumed import COARSE, READ_FINELY, AssumedStudy
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.decision import chance_of_verdict
from hostctl.metrology.claims.tolerance import half_width_holding, ratio_quantile

MOST_TRIALS = 100_000
MOST_WITH_RIG = 2000
"""More trials than these are not advised: in general, and where a rig check is taken out, whose
own doubt no number of trials takes away."""


class Chances(Protocol):
    """The chance of success with so many trials. by_trial: found by trial, not by formula alone."""

    by_trial: bool

    def chance(self, n: int) -> float:
        """With n trials, or the whole blocks among them."""

    def fewest(self, power: float, most: int) -> int:
        """Trials that reach the power, in whole blocks. Raises NotEnough where `most` don't."""

    def look_about(self, n: int) -> None:
        """Make ready for many questions about n trials and fewer."""


class ByFormula:
    """Chances that a formula gives."""

    by_trial = False

    def __init__(self, formula: Callable[[int], float], study: AssumedStudy) -> None:
        self._formula = formula
        self._study = study

    def chance(self, n: int) -> float:
        """As the formula says."""
        return self._formula(self._study.whole(n))

    def fewest(self, power: float, most: int) -> int:
        """By search. Raises NotEnough."""
        return self._study.fewest(lambda n: self._formula(n) >= power, most)

    def look_about(self, n: int) -> None:
        """A formula is always ready."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadPrecision:
    """How well the standard deviation of n trials is known: σ lies within low s to high s."""

    n: int
    relative_sd: float
    low: float
    high: float
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPoint:
    """Chance of success with n trials."""

    n: int
    chance: float


def precision_of_sd(n: int, confidence: float = 0.95) -> SpreadPrecision:
    """What n trials, at least 2, tell of a standard deviation.

    relative_sd: that of s itself, √(1 - c4²)/c4 (JCGM 100:2008 Table E.1: 52 % at 3, 24 % at 10).
    """
    tail, df = (1 - confidence) / 2, _df(n)
    log_c4 = math.lgamma(n / 2) - math.lgamma(df / 2) + 0.5 * math.log(2 / df)
    return SpreadPrecision(
        n=n,
        relative_sd=math.sqrt(math.expm1(-2 * log_c4)),
        low=1 / ratio_quantile(1 - tail, df),
        high=1 / ratio_quantile(tail, df),
        confidence=confidence,
    )


def trials_to_know_sd(within: float, confidence: float = 0.95) -> int:
    """Fewest trials whose s falls within ± `within` (a share) of σ, with that confidence."""
    return fewest(lambda n: chance_to_know_sd(n, within) >= confidence, least=2, most=10_000_000)


def chance_to_know_sd(n: int, within: float) -> float:
    """Chance that s of n trials falls within ± `within` (a share, 0 to 1) of σ.

    Exact, from the chi-square law of s²/σ².
    """
    if not 0 < within < 1:
        raise ValueError(f"a share between 0 and 1 is needed, not {within}")
    df = _df(n)
    return chi_square_cdf(df * (1 + within) ** 2, df) - chi_square_cdf(df * (1 - within) ** 2, df)


def smallest_ratio_seen(n: int, *, risk: float = 0.05, study: AssumedStudy = READ_FINELY) -> float:
    """The ratio of two standard deviations of n trials each from which they differ significantly.

    Two-sided F test: √F(n-1, n-1) at 1 - risk/2; 1.59 for 20 each, 2.01 for 10. Of several pairs
    each has its share of the risk; each block more costs a degree of freedom.
    """
    df = _df(n, study.blocks)
    return math.sqrt(f_quantile(1 - risk / study.pairs / 2, df, df))


def chance_to_see_ratio(
    n: int, ratio: float, *, risk: float = 0.05, study: AssumedStudy = READ_FINELY
) -> float:
    """Power of the two-sided F test, n trials each, when the true ratio of spreads is `ratio`."""
    limit, df = smallest_ratio_seen(n, risk=risk, study=study) ** 2, _df(n, study.blocks)
    return f_sf(limit / ratio**2, df, df) + f_sf(limit * ratio**2, df, df)


def seeing(
    ratio: float,
    *,
    risk: float = 0.05,
    sigma: float | None = None,
    study: AssumedStudy = READ_FINELY,
) -> Chances:
    """The chance that two spreads with this true ratio are said to differ.

    sigma: the smaller one; None: not known, and the study's rig and graduations play no part.
    """
    if not (ratio > 0 and ratio != 1):
        raise ValueError(f"a ratio above 0 that isn't 1 is needed, not {ratio}")
    wide = max(ratio, 1.0 / ratio)
    if sigma is None:
        return ByFormula(lambda n: chance_to_see_ratio(n, ratio, risk=risk, study=study), study)
    first, second = (study.read_as(each) for each in (wide * sigma, sigma))

    def formula(n: int) -> float:
        return chance_to_see_ratio(n, first / second, risk=risk, study=study)

    if study.is_fine(sigma):
        return ByFormula(formula, study)
    from hostctl.metrology.claims.by_trial import Seen, SetRight

    trial = Seen(study, first=wide * sigma, second=sigma, risk=risk)
    return SetRight(formula, trial.chance, study)


def chance_to_prove(
    claim: Claim, n: int, *, sigma: float, bias: float = 0.0, blocks: int = 1
) -> float:
    """Chance that n trials end in `Meets`, for true sigma and bias; see `chance_of_verdict`."""
    return chance_of_verdict(claim, sigma=sigma, n=n, df=_df(n, blocks), bias=bias)[0]


def proving(
    claim: Claim, *, sigma: float, bias: float = 0.0, study: AssumedStudy = READ_FINELY
) -> Chances:
    """The chance that the claim is proven, if the truth is sigma and bias.

    About a datum readings count as points, and no rig is taken out.
    """
    if claim.centre is not Centre.LONG_RUN_MEAN:
        return ByFormula(
            lambda n: chance_to_prove(claim, n, sigma=sigma, bias=bias, blocks=study.blocks), study
        )
    z = normal_quantile((1 + claim.content) / 2)
    read = replace(claim, tolerance=z * study.read_as(claim.tolerance / z))

    def formula(n: int) -> float:
        return chance_to_prove(read, n, sigma=study.read_as(sigma), blocks=study.blocks)

    if study.rig is None and study.is_fine(sigma):
        return ByFormula(formula, study)
    from hostctl.metrology.claims.by_trial import Proven, SetRight

    trial = Proven(study, limit=claim.tolerance / z, sigma=sigma, risk=claim.risk)
    return SetRight(formula, trial.chance, study)


def trials_to_prove(
    claim: Claim,
    *,
    sigma: float,
    bias: float = 0.0,
    power: float = 0.8,
    study: AssumedStudy = READ_FINELY,
    chances: Chances | None = None,
) -> int | NotYet:
    """Fewest trials that prove the claim with that power, if the truth is sigma and bias.

    chances: those of `proving`, where they are at hand.

    NotYet where it could never be, as with such a truth the claim is false, or the claim is finer
    than the graduations show; and, with `needs_n`, where the truth lies so near the limit, or the
    rig check is so short, that so many would not do.
    """
    about_mean = claim.centre is Centre.LONG_RUN_MEAN
    holds = half_width_holding(claim.content, bias if claim.centre is Centre.DATUM else 0.0, sigma)
    found: dict[str, Number] = {"share": claim.content, "holds": holds, "unit": claim.unit}
    if holds >= claim.tolerance:
        never = Reason(Why.NEVER_PROVEN, tolerance=claim.tolerance, **found)
        return NotYet(reason=never)
    limit = claim.tolerance / normal_quantile((1 + claim.content) / 2)
    if about_mean and limit < COARSE * study.resolution:
        return NotYet(reason=Reason(Why.ROUNDING_DECIDES))
    most = MOST_TRIALS if study.rig is None else MOST_WITH_RIG
    chances = chances or proving(claim, sigma=sigma, bias=bias, study=study)
    try:
        return chances.fewest(power, most)
    except NotEnough:
        return NotYet(reason=Reason(Why.TOO_NEAR_THE_LIMIT, most=most, **found), needs_n=most)


def power_curve(chance: Callable[[int], float], trials: Iterable[int]) -> tuple[PowerPoint, ...]:
    """The chance at each number of trials, for a small table or a curve."""
    return tuple(PowerPoint(n=n, chance=chance(n)) for n in trials)


def _df(n: int, blocks: int = 1) -> int:
    if n < 2 * blocks:
        raise NotEnough(Reason(Why.TOO_FEW, what="trials", given=n, least=2 * blocks))
    return n - blocks
