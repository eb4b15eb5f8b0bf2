"""The rig taken out of the total: what the setting itself scatters.

What the operator sees is setting and rig together, so the setting's variance is the total's less
the rig's. A difference of two estimated variances can come out negative and its interval can reach
zero: then the setting can't be told from the rig, and the result says so instead of quoting zero.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.distributions import f_sf
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.mean_squares import (
    MeanSquare,
    component_interval,
    difference_interval,
)
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance

_TING = "Ting et al. 1990, J. Stat. Comput. Simul. 35, 135-143; lower limit 0 where the F test is"
_NOT_THE_SAME_RIG = NotYet(reason=Reason(Why.RIG_MORE_THAN_STUDY))
_NO_RIG = NotYet(reason=Reason(Why.NO_RIG_CHECK))
_MOVER = "Zou and Donner 2008, Statistics in Medicine 27, 1693-1702"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation and its degrees of freedom, pooled over blocks if there were several."""

    s: float
    df: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.s) and self.s >= 0.0):
            raise NotEnough(Reason(Why.NO_SPREAD_TO_JUDGE, sd=self.s))
        if not self.df > 0.0:
            raise NotEnough(Reason(Why.NO_TWO_SETTINGS))

    @property
    def mean_square(self) -> MeanSquare:
        """As a variance."""
        return MeanSquare(value=self.s**2, df=self.df)


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingSpread:
    """The setting's own standard deviation.

    `distinguishable`: False where the interval reaches zero, that is where the total's variance is
    not significantly above the rig's. `floored`: the rig's figure was the larger, the value is 0.
    `test`: the F test of total against rig, or None where only intervals were given.
    """

    spread: Estimate
    distinguishable: bool
    floored: bool
    test: Significance | None


def setting_spread(
    total: Spread, rig: Spread | None, confidence: float = 0.95
) -> SettingSpread | NotYet:
    """The standard deviation of the setting alone, from the total's and the rig check's.

    Same unit as the inputs. Interval by the modified large-sample method, floored at zero. NotYet
    without a rig check, and where the rig check scatters significantly more than the whole study,
    which no rig that was the same in both can do.
    """
    if rig is None:
        return _NO_RIG
    if difference_interval(total.mean_square, rig.mean_square, confidence)[1] < 0.0:
        return _NOT_THE_SAME_RIG
    limits = component_interval(total.mean_square, rig.mean_square, confidence)
    return _result(
        total.s, rig.s, limits, n=int(total.df) + 1, source=_TING, test=_f_test(total, rig)
    )


def setting_spread_from_estimates(total: Estimate, rig: Estimate | None) -> SettingSpread | NotYet:
    """The same from two standard deviations that carry their own intervals.

    For spreads fitted to rounded readings, whose intervals are not chi-square. The two confidences
    must be alike. Interval by recovering variances from the two intervals. NotYet as above.
    """
    if rig is None:
        return _NO_RIG
    confidence = total.interval.confidence
    if confidence != rig.interval.confidence:
        raise ValueError("total and rig have intervals of different confidence")
    estimate = total.value**2 - rig.value**2
    low = estimate - math.hypot(total.value**2 - total.low**2, rig.high**2 - rig.value**2)
    high = estimate + math.hypot(total.high**2 - total.value**2, rig.value**2 - rig.low**2)
    if high < 0.0:
        return _NOT_THE_SAME_RIG
    limits = Interval(low=max(0.0, low), high=high, confidence=confidence)
    return _result(total.value, rig.value, limits, n=total.n, source=_MOVER, test=None)


def _f_test(total: Spread, rig: Spread) -> Significance | None:
    if rig.s == 0.0:
        return None
    ratio = (total.s / rig.s) ** 2
    return Significance(
        statistic=ratio,
        p_value=f_sf(ratio, total.df, rig.df),
        df=(total.df, rig.df),
        n=int(total.df) + 1,
        how="F test, one-sided: total above rig",
        source="ISO 2854:1976, table G",
    )


def _result(
    s_total: float,
    s_rig: float,
    variance_limits: Interval,
    *,
    n: int,
    source: str,
    test: Significance | None,
) -> SettingSpread:
    interval = Interval(
        low=math.sqrt(variance_limits.low),
        high=math.sqrt(variance_limits.high),
        confidence=variance_limits.confidence,
    )
    value = math.sqrt(max(0.0, (s_total - s_rig) * (s_total + s_rig)))
    return SettingSpread(
        spread=Estimate(
            value=value,
            interval=interval,
            n=n,
            how="total less rig, as variances, floored at zero",
            source=source,
        ),
        distinguishable=interval.low > 0.0,
        floored=s_total < s_rig,
        test=test,
    )
