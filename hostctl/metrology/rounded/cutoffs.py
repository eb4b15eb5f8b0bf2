"""How far the likelihood may fall before a spread is ruled out, calibrated to the sample's size.

A profile-likelihood interval holds every sigma whose deviance, twice the fall of the log-likelihood
from its top, is at most a cut-off. The usual cut-off, chi-square on one degree of freedom, is for
large samples; at n = 3 it covers far too seldom. For unrounded normal readings the deviance depends
on the sum of squares S alone,

    D = n (w - 1 - log w)   with   w = S / (n sigma^2),

and S / sigma^2 is chi-square, so the cut-off that covers exactly as often as promised is known at
any n. Over B blocks, B > 1, the likelihood is averaged over the means or charged for them, and n
in D is n - B (`likelihood_power`), so that both ends share the chance to miss (R. F. Tate,
G. W. Klett, J. Amer. Statist. Assoc. 54, 1959: the unbiased interval). Where sigma is far above a
resolution the rounded case is this case; for what has to be added below it see rounding_limits.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from hostctl.metrology.basis.distributions import (
    chi_square_cdf,
    chi_square_quantile,
    chi_square_sf,
    normal_quantile,
)
from hostctl.metrology.basis.incomplete_functions import gamma_factor
from hostctl.metrology.basis.reference import SpreadFreedom


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOff:
    """A cut-off and the ratios w = S / (power sigma^2) at which unrounded readings reach it."""

    deviance: float
    low_ratio: float
    high_ratio: float


def likelihood_power(freedom: SpreadFreedom, blocks: int) -> int:
    """The power of 1 / sigma in the likelihood: n, or with several blocks n - B."""
    return freedom.readings if blocks == 1 else freedom.readings - blocks


@lru_cache(maxsize=1024)
def two_sided_cut_off(freedom: SpreadFreedom, confidence: float, blocks: int = 1) -> CutOff:
    """The deviance that a two-sided interval for sigma stops at."""
    n, df, scale = likelihood_power(freedom, blocks), freedom.df, freedom.scale
    z = normal_quantile((1.0 + confidence) / 2.0)
    deviance = z**2 * (1.0 + 11.0 / (6.0 * n))
    for _ in range(100):
        at = _both_ratios(deviance, n)
        missed = chi_square_cdf(n * at.low_ratio / scale, df)
        missed += chi_square_sf(n * at.high_ratio / scale, df)
        slope = sum(
            gamma_factor(df / 2.0, n * ratio / (2.0 * scale)) / (n * abs(ratio - 1.0))
            for ratio in (at.low_ratio, at.high_ratio)
        )
        # Newton on the log of the chance to miss, which is close to straight
        step = math.log(missed / (1.0 - confidence)) * missed / slope
        deviance = max(deviance + step, deviance / 4.0)
        if abs(step) <= 1e-13 * deviance:
            break
    return _both_ratios(deviance, n)


@lru_cache(maxsize=1024)
def chance_above(freedom: SpreadFreedom, confidence: float) -> float:
    """The chance that the interval from one block of unrounded readings lies above the truth."""
    cut_off = two_sided_cut_off(freedom, confidence)
    return chi_square_sf(freedom.readings * cut_off.high_ratio / freedom.scale, freedom.df)


@lru_cache(maxsize=1024)
def one_sided_cut_off(freedom: SpreadFreedom, confidence: float) -> float:
    """The deviance that an upper bound for sigma stops at, for one block of readings all alike."""
    n = freedom.readings
    ratio = freedom.scale * chi_square_quantile(1.0 - confidence, freedom.df) / n
    return n * (ratio - 1.0 - math.log(ratio))


def _both_ratios(deviance: float, n: int) -> CutOff:
    fall = deviance / n
    return CutOff(
        deviance=deviance,
        low_ratio=math.exp(_log_ratio(fall, -1.0 - fall if fall > 1.0 else -math.sqrt(2.0 * fall))),
        high_ratio=math.exp(_log_ratio(fall, math.sqrt(2.0 * fall))),
    )


def _log_ratio(fall: float, v: float) -> float:
    """The v on the starting side with exp(v) - 1 - v = fall; convex, so Newton can't miss."""
    for _ in range(100):
        slope = math.expm1(v)
        step = (slope - v - fall) / slope
        v -= step
        if abs(step) <= 1e-15 * abs(v):
            break
    return v
