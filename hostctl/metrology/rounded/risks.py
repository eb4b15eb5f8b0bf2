"""How the chance to miss is shared between the two ends of an interval for a spread.

Shared equally, an interval from few readings is needlessly long. For unrounded normal readings the
deviance of the likelihood depends on the sum of squares S alone,

    D = n (w - 1 - log w)   with   w = S / (n sigma^2),

and an interval of every sigma with a deviance below a cut-off, calibrated so that it covers as
often as promised, is nearly the shortest there is: from few readings it misses nearly always below
the truth. Over B blocks, B > 1, n in D is n - B, so that both ends share the chance to miss
(R. F. Tate, G. W. Klett, J. Amer. Statist. Assoc. 54, 1959: the unbiased interval). Each end of an
interval from rounded readings gets the share that the interval from points would give it.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from hostctl.metrology.basis.distributions import chi_square_cdf, chi_square_sf, normal_quantile
from hostctl.metrology.basis.incomplete_functions import gamma_factor
from hostctl.metrology.basis.reference import SpreadFreedom


@dataclass(frozen=True, slots=True, kw_only=True)
class Risks:
    """The chance that the upper limit is too low, and that the lower one is too high."""

    upper: float
    lower: float


def likelihood_power(freedom: SpreadFreedom, blocks: int) -> int:
    """The power of 1 / sigma in the likelihood: n, or with several blocks n - B."""
    return freedom.readings if blocks == 1 else freedom.readings - blocks


@lru_cache(maxsize=1024)
def shared_risks(freedom: SpreadFreedom, confidence: float, blocks: int = 1) -> Risks:
    """For a two-sided interval at this confidence."""
    n, df, scale = likelihood_power(freedom, blocks), freedom.df, freedom.scale
    z = normal_quantile((1.0 + confidence) / 2.0)
    deviance = z**2 * (1.0 + 11.0 / (6.0 * n))
    for _ in range(100):
        low, high = _both_ratios(deviance, n)
        missed = chi_square_cdf(n * low / scale, df) + chi_square_sf(n * high / scale, df)
        slope = sum(
            gamma_factor(df / 2.0, n * ratio / (2.0 * scale)) / (n * abs(ratio - 1.0))
            for ratio in (low, high)
        )
        # Newton on the log of the chance to miss, which is close to straight
        step = math.log(missed / (1.0 - confidence)) * missed / slope
        deviance = max(deviance + step, deviance / 4.0)
        if abs(step) <= 1e-13 * deviance:
            break
    low, high = _both_ratios(deviance, n)
    return Risks(
        upper=chi_square_cdf(n * low / scale, df), lower=chi_square_sf(n * high / scale, df)
    )


def _both_ratios(deviance: float, n: int) -> tuple[float, float]:
    """The ratios w at which unrounded readings reach the deviance."""
    fall = deviance / n
    below = -1.0 - fall if fall > 1.0 else -math.sqrt(2.0 * fall)
    return math.exp(_log_ratio(fall, below)), math.exp(_log_ratio(fall, math.sqrt(2.0 * fall)))


def _log_ratio(fall: float, v: float) -> float:
    """The v on the starting side with exp(v) - 1 - v = fall; convex, so Newton can't miss."""
    for _ in range(100):
        slope = math.expm1(v)
        step = (slope - v - fall) / slope
        v -= step
        if abs(step) <= 1e-15 * abs(v):
            break
    return v
