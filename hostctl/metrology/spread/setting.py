"""The setting's own spread where total and rig are fitted to rounded readings, bounds included.

An indicator may be too coarse to show the rig, or even the total. A bound is then all that is
known, and it goes through the subtraction as one: no spread is ever taken to be none.
"""

from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.rig import SettingSpread, setting_spread_from_estimates

_NO_RIG = NotYet(reason="no rig check of this machine: run one, then analyse again")


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
    says: str
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
        return NotYet(
            reason="the rig check scatters more than the whole study can: the rig was not the "
            "same in both, repeat the rig check"
        )
    return Setting(
        value=None,
        interval=total.interval,
        n=total.n,
        distinguishable=False,
        one_sided=total.one_sided,
        says="too small for this resolution to show; the bound is that of setting and rig together",
        how="upper bound of setting and rig together",
        source="see the total",
    )


def _setting(found: SettingSpread, rig: RoundedSpread) -> Setting:
    bound = " (the rig's own spread is too small for the resolution to show)"
    return Setting(
        value=found.spread.value,
        interval=found.spread.interval,
        n=found.spread.n,
        distinguishable=found.distinguishable,
        one_sided=False,
        says=found.says + (bound if isinstance(rig.quoted, NotYet) else ""),
        how=found.spread.how,
        source=found.spread.source,
    )
