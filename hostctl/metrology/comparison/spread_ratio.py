"""The ratio of two standard deviations, with an interval; and whether they are as good as equal.

Blocks have their own zeros, so spreads are pooled within blocks. Where a block's readings are all
alike, use the permutation test of `spread_permutation` or bounds from the rounding-aware fit.
"""

import math

from hostctl.metrology.basis.distributions import f_quantile, f_sf
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Equivalence, Significance
from hostctl.metrology.spread.rig import Spread

_ALIKE = NotYet(reason=Reason(Why.RATIO_HIDDEN))


def sd_ratio(first: Spread, second: Spread, confidence: float = 0.95) -> Estimate | NotYet:
    """first / second with the F interval, exact for independent normal readings.

    NotYet where either is zero. Source: ISO 2854:1976, table G'.
    """
    if first.s == 0.0 or second.s == 0.0:
        return _ALIKE
    ratio = first.s / second.s
    tail = (1.0 - confidence) / 2.0
    return Estimate(
        value=ratio,
        interval=Interval(
            low=ratio / math.sqrt(f_quantile(1.0 - tail, first.df, second.df)),
            high=ratio / math.sqrt(f_quantile(tail, first.df, second.df)),
            confidence=confidence,
        ),
        n=int(first.df + second.df) + 2,
        how="ratio of standard deviations, F interval",
        source="ISO 2854:1976, table G'",
    )


def sd_ratio_test(first: Spread, second: Spread) -> Significance | NotYet:
    """F test of two variances, two-sided. The statistic is first over second.

    Source: ISO 2854:1976, table G; e-Handbook 1.3.5.9.
    """
    if first.s == 0.0 or second.s == 0.0:
        return _ALIKE
    ratio = (first.s / second.s) ** 2
    above = f_sf(ratio, first.df, second.df)
    below = f_sf(1.0 / ratio, second.df, first.df)
    return Significance(
        statistic=ratio,
        p_value=min(1.0, 2.0 * min(above, below)),
        df=(first.df, second.df),
        n=int(first.df + second.df) + 2,
        how="F test of two variances, two-sided",
        source="ISO 2854:1976, table G",
    )


def sd_equivalence(
    first: Spread, second: Spread, margin: float, alpha: float = 0.05
) -> Equivalence | NotYet:
    """Two one-sided F tests: does first / second lie between 1 / margin and margin.

    margin: the largest ratio still counted as equal, above 1 (1.5: half as much again).
    Raises ValueError for a margin not above 1; NotYet where either is zero.
    Source: Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657-680, on the log ratio.
    """
    if not margin > 1.0:
        raise ValueError(f"equivalence of spreads: the margin is {margin}, must be above 1")
    ratio = sd_ratio(first, second, confidence=1.0 - 2.0 * alpha)
    if isinstance(ratio, NotYet):
        return ratio
    above_low = f_sf((ratio.value * margin) ** 2, first.df, second.df)
    below_high = f_sf((margin / ratio.value) ** 2, second.df, first.df)
    return Equivalence(
        difference=ratio,
        low=1.0 / margin,
        high=margin,
        p_low=above_low,
        p_high=below_high,
        alpha=alpha,
    )
