"""The pieces of the reckoning of one spread, as pencil and paper need them."""

from math import sqrt

from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reference import spread_freedom
from hostctl.metrology.rounded.cutoffs import likelihood_power
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.judgement import RigTakenOut
from hostctl.report.analysis.result.reckoning import Reckoning, RigOut
from hostctl.report.sources.sample import Sample


def reckoning_of(
    sample: Sample, spread: RoundedSpread, setting: Setting | NotYet, rig: RigTakenOut | None
) -> Reckoning:
    """The sums behind the spread of a sample."""
    worth = _worth_of_differences(sample) if sample.reference == "previous" else None
    low, high = (chi_square_quantile(p, spread.df) for p in (0.975, 0.025))
    taken_out = rig if isinstance(setting, Setting) else None
    return Reckoning(
        squares_mm2=spread.ordinary.value**2 * (spread.df if worth is None else worth),
        worth=worth,
        chi_square=(low, high),
        squared_factor=_squared_factor(sample),
        rig_out=_rig_out(spread, taken_out.spread) if taken_out else None,
    )


def _worth_of_differences(sample: Sample) -> float:
    """n readings of a block that are differences: their squares come to 2 (n - 1/n) σ²."""
    sizes = [len(values) for values in sample.values if len(values) > 1]
    return 2.0 * sum(n - 1.0 / n for n in sizes)


def _squared_factor(sample: Sample) -> tuple[int, float] | None:
    """What brings the likeliest variance to the divisor of an ordinary one."""
    sizes = [len(settings) for settings in sample.settings if len(settings) > 1]
    freedom = spread_freedom(sizes, sample.reference)
    power = likelihood_power(freedom, len(sizes))
    divisor = freedom.scale * freedom.df
    return None if divisor == power else (power, divisor)


def _rig_out(spread: RoundedSpread, rig: RoundedSpread) -> RigOut | None:
    """None where the total is no more than a bound."""
    if not isinstance(spread.quoted, Estimate):
        return None
    known = isinstance(rig.quoted, Estimate)
    rig_mm = rig.quoted.value if isinstance(rig.quoted, Estimate) else 0.0
    rig_low_mm = rig.interval.low if known else 0.0
    total_mm, band = spread.quoted.value, spread.interval
    return RigOut(
        total_mm=total_mm,
        rig_mm=rig_mm,
        rig_bounded=not known,
        rig_larger=rig_mm > total_mm,
        variance_mm2=total_mm**2 - rig_mm**2,
        down_mm2=sqrt((total_mm**2 - band.low**2) ** 2 + (rig.interval.high**2 - rig_mm**2) ** 2),
        up_mm2=sqrt((band.high**2 - total_mm**2) ** 2 + (rig_mm**2 - rig_low_mm**2) ** 2),
    )
