"""The setting's own spread where total and rig are fitted to rounded readings, bounds included.

An indicator may be too coarse to show the rig, or even the total. A bound is then all that is
known, and it goes through the subtraction as one: no spread is ever taken to be none.
"""

from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.rig import SettingSpread, setting_spread_from_estimates

_NO_RIG = NotYet(reason=Reason(Why.NO_RIG_CHECK))


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """The setting's own standard deviation, in the unit of the readings.

    value: None where the readings give no more than an upper bound.  distinguishable: whether it
    is surely above zero, that is whether the setting can be told from the rig.
    one_sided: whether the interval is an upper bound at its whole confidence.
    """

    value: float | None
    interval: Interval
    n: int
    distinguishable: bool
    one_sided: bool
    says: Reason
    how: str
    source: str


def setting_of(total: RoundedSpread, rig: RoundedSpread | None) -> Setting | NotYet:
    """Total less rig, as variances; both at the same confidence.

    Where the rig stays below what the indicator shows, its likeliest spread is 0 and its interval
    reaches up to its bound. NotYet without a rig check, or where the rig check scatters more.
    """
    if rig is None:
        return _NO_RIG
    as_estimate = _estimate(rig)
    if isinstance(total.quoted, NotYet):
        return _bounded(total, as_estimate)
    found = setting_spread_from_estimates(total.quoted, as_estimate)
    return found if isinstance(found, NotYet) else _setting(found, rig)


def _estimate(spread: RoundedSpread) -> Estimate:
    if isinstance(spread.quoted, Estimate):
        return spread.quoted
    return Estimate(
        value=0.0,
        interval=spread.interval,
        n=spread.n,
        how="upper bound only",
        source=spread.ordinary.source,
    )


def _bounded(total: RoundedSpread, rig: Estimate) -> Setting | NotYet:
    if rig.low > total.interval.high:
        return NotYet(reason=Reason(Why.RIG_MORE_THAN_BOUND))
    return Setting(
        value=None,
        interval=total.interval,
        n=total.n,
        distinguishable=False,
        one_sided=total.one_sided,
        says=Reason(Why.SETTING_HIDDEN),
        how="upper bound of setting and rig together",
        source="see the total",
    )


def _setting(found: SettingSpread, rig: RoundedSpread) -> Setting:
    hidden = isinstance(rig.quoted, NotYet)
    return Setting(
        value=found.spread.value,
        interval=found.spread.interval,
        n=found.spread.n,
        distinguishable=found.distinguishable,
        one_sided=False,
        says=Reason(Why.SETTING_ABOVE_RIG, rig_hidden=hidden)
        if found.distinguishable
        else Reason(Why.SETTING_LIKE_RIG, high=found.spread.high, rig_hidden=hidden),
        how=found.spread.how,
        source=found.spread.source,
    )
