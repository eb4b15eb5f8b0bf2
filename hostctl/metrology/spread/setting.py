"""The rig taken out of what was read: what the setting itself scatters.

What the operator sees is setting and rig together, so the setting's variance is the total's less
the rig's. Both are known no better than their confidence boxes say, bounds included: a limit is a
quantile of the difference when each is drawn from its own box. Where total and rig are points that
is exact for whether there is anything beside the rig (the F test), and never too sure beyond
(S. Weerahandi, J. Amer. Statist. Assoc. 88, 1993, 899-905, from memory).

Where readings scatter no more than the rig's own, the difference would be a bound below what either
shows, and the lower the less likely the two are (the known fault of a bound near 0: G. J. Feldman
and R. D. Cousins, Phys. Rev. D 57, 1998, 3873, from memory). There the rig is left in: the setting
alone scatters no more than both together.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.confidence_box import Quantiles, quantile_of, thinned
from hostctl.metrology.basis.estimate import Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.risks import shared_risks

_NO_RIG = NotYet(reason=Reason(Why.NO_RIG_CHECK))
_MOST = 1e9  # of a limit, in what is likely
HARDLY = 0.25
"""The chance that readings scatter more than the rig, up to which the rig is left in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """The setting's own standard deviation, in the unit of the readings.

    value: None where the readings give no more than an upper bound.  distinguishable: whether the
    interval lies above zero, that is whether the setting can be told from the rig.
    one_sided: whether the interval is an upper bound at its whole confidence.
    rig_out: False where the bound is that of setting and rig together.
    """

    value: float | None
    interval: Interval
    n: int
    distinguishable: bool
    one_sided: bool
    rig_out: bool
    says: Reason
    how: str
    source: str


def setting_of(
    total: SpreadEvidence, rig: SpreadEvidence | None, confidence: float = 0.95
) -> Setting | NotYet:
    """Total less rig, as variances; where the rig's figure is the larger, the value is 0.

    NotYet without a rig check, and where the rig check scatters more than the whole study, which no
    rig that was the same in both can do.
    """
    if rig is None:
        return _NO_RIG
    risks = shared_risks(total.freedom, confidence, len(total.blocks))
    upper_risk = risks.upper if total.span else 1.0 - confidence
    more_than_rig = setting_is_above(total, rig, 0.0)
    if more_than_rig <= upper_risk:
        return NotYet(reason=Reason(Why.RIG_MORE_THAN_STUDY))
    rig_out = total.span > 0 and more_than_rig > HARDLY
    known = rig_out and total.span > 1
    low = setting_lower(total, rig, risks.lower) if known else 0.0
    high = setting_upper(total, rig if rig_out else None, upper_risk)
    return Setting(
        value=_figure(total, rig) if known else None,
        interval=Interval(low=low, high=high, confidence=confidence),
        n=total.freedom.settings,
        distinguishable=low > 0.0,
        one_sided=total.span == 0,
        rig_out=rig_out,
        says=_says(total, rig, low, high, rig_out=rig_out),
        how="total less rig, as variances, floored at zero",
        source="Weerahandi 1993, J. Amer. Statist. Assoc. 88, 899-905",
    )


def setting_is_above(total: SpreadEvidence, rig: SpreadEvidence | None, sigma: float) -> float:
    """How far the readings bear out that the setting's own spread is above sigma.

    The claim that it is at most sigma is wrong no more often than this chance. Without a rig check
    that is said of setting and rig together.
    """
    if rig is None:
        return total.tails(sigma).narrow
    return _chance_above(total.box.upper, rig.box.lower, sigma)


def setting_is_below(total: SpreadEvidence, rig: SpreadEvidence | None, sigma: float) -> float:
    """The same for the claim that it is at least sigma."""
    if rig is None:
        return total.tails(sigma).wide
    return 1.0 - _chance_above(total.box.lower, rig.box.upper, sigma)


def setting_upper(total: SpreadEvidence, rig: SpreadEvidence | None, risk: float) -> float:
    """The upper limit that is too low with at most this risk."""
    if rig is None:
        return total.upper(risk)
    return _quantile(total, total.box.upper, rig.box.lower, risk)


def setting_lower(total: SpreadEvidence, rig: SpreadEvidence | None, risk: float) -> float:
    """The lower limit that is too high with at most this risk; 0 where there is none."""
    if rig is None:
        return total.lower(risk)
    return _quantile(total, total.box.lower, rig.box.upper, 1.0 - risk)


def _quantile(total: SpreadEvidence, both: Quantiles, rig: Quantiles, chance: float) -> float:
    def chance_above(log_sigma: float) -> float:
        return _chance_above(both, rig, math.exp(log_sigma))

    if _chance_above(both, rig, 0.0) <= chance:
        return 0.0
    likely = math.log(total.likeliest)
    reach = math.log(_MOST)
    return math.exp(quantile_of(chance_above, chance, likely - reach, likely + reach))


def _chance_above(both: Quantiles, rig: Quantiles, sigma: float) -> float:
    return math.fsum(
        weight * (1.0 - both.log_below(math.hypot(value, sigma)))
        for value, weight in thinned(rig, 1)
    )


def _figure(total: SpreadEvidence, rig: SpreadEvidence) -> float:
    return math.sqrt(max(total.figure**2 - rig.figure**2, 0.0))


def _says(
    total: SpreadEvidence, rig: SpreadEvidence, low: float, high: float, *, rig_out: bool
) -> Reason:
    if total.span > 0 and not rig_out:
        return Reason(Why.SETTING_WITHIN_RIG)
    if total.span < 2:
        return Reason(Why.SETTING_HIDDEN)
    hidden = rig.span < 2
    if low > 0.0:
        return Reason(Why.SETTING_ABOVE_RIG, rig_hidden=hidden)
    return Reason(Why.SETTING_LIKE_RIG, high=high, rig_hidden=hidden)
