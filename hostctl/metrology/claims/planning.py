"""How many trials it takes to know a spread, to tell two apart, to prove a claim (normal law)."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from hostctl.metrology.basis.distributions import chi_square_cdf, f_quantile, f_sf
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.root_finding import fewest
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.decision import chance_of_verdict
from hostctl.metrology.claims.tolerance import half_width_holding, ratio_quantile

MOST_TRIALS = 100_000


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


def smallest_ratio_seen(n: int, *, risk: float = 0.05) -> float:
    """The ratio of two standard deviations of n trials each from which they differ significantly.

    Two-sided F test: √F(n-1, n-1) at 1 - risk/2; 1.59 for 20 each, 2.01 for 10.
    """
    return math.sqrt(f_quantile(1 - risk / 2, _df(n), _df(n)))


def chance_to_see_ratio(n: int, ratio: float, *, risk: float = 0.05) -> float:
    """Power of the two-sided F test, n trials each, when the true ratio of spreads is `ratio`."""
    limit, df = smallest_ratio_seen(n, risk=risk) ** 2, n - 1
    return f_sf(limit / ratio**2, df, df) + f_sf(limit * ratio**2, df, df)


def trials_to_see_ratio(ratio: float, *, power: float = 0.8, risk: float = 0.05) -> int:
    """Fewest trials of each method that show a true ratio of spreads with that power."""
    if not (ratio > 0 and ratio != 1):
        raise ValueError(f"a ratio above 0 that isn't 1 is needed, not {ratio}")
    return fewest(
        lambda n: chance_to_see_ratio(n, ratio, risk=risk) >= power, least=2, most=MOST_TRIALS
    )


def chance_to_prove(claim: Claim, n: int, *, sigma: float, bias: float = 0.0) -> float:
    """Chance that n trials end in `Meets`, for true sigma and bias; see `chance_of_verdict`."""
    return chance_of_verdict(claim, sigma=sigma, n=n, df=n - 1, bias=bias)[0]


def trials_to_prove(
    claim: Claim, *, sigma: float, bias: float = 0.0, power: float = 0.8
) -> int | NotYet:
    """Fewest trials that prove the claim with that power, if the truth is sigma and bias.

    NotYet where it could never be, as with such a truth the claim is false; and, with `needs_n`,
    where the truth lies so near the limit that MOST_TRIALS would not do.
    """
    off = bias if claim.centre is Centre.DATUM else 0.0
    holds = half_width_holding(claim.content, off, sigma)
    if holds >= claim.tolerance:
        return NotYet(
            reason=Reason(
                Why.NEVER_PROVEN,
                share=claim.content,
                holds=holds,
                tolerance=claim.tolerance,
                unit=claim.unit,
            )
        )
    if chance_to_prove(claim, MOST_TRIALS, sigma=sigma, bias=bias) < power:
        return NotYet(
            reason=Reason(
                Why.TOO_NEAR_THE_LIMIT,
                share=claim.content,
                holds=holds,
                unit=claim.unit,
                most=MOST_TRIALS,
            ),
            needs_n=MOST_TRIALS,
        )
    return fewest(
        lambda n: chance_to_prove(claim, n, sigma=sigma, bias=bias) >= power,
        least=2,
        most=MOST_TRIALS,
    )


def power_curve(chance: Callable[[int], float], trials: Iterable[int]) -> tuple[PowerPoint, ...]:
    """The chance at each number of trials, for a small table or a curve."""
    return tuple(PowerPoint(n=n, chance=chance(n)) for n in trials)


def _df(n: int) -> int:
    if n < 2:
        raise NotEnough(Reason(Why.TOO_FEW, what="trials", given=n, least=2))
    return n - 1
