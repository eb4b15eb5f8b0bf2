"""The pieces of the reckoning of one spread, as pencil and paper need them."""

from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import Estimate, NotYet
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
    taken_out = rig if isinstance(setting, Setting) and setting.rig_out else None
    return Reckoning(
        squares_mm2=spread.ordinary.value**2 * (spread.df if worth is None else worth),
        worth=worth,
        chi_square=(low, high),
        rig_out=_rig_out(spread, taken_out.spread) if taken_out else None,
    )


def _worth_of_differences(sample: Sample) -> float:
    """n readings of a block that are differences: their squares come to 2 (n - 1/n) σ²."""
    sizes = [len(values) for values in sample.values if len(values) > 1]
    return 2.0 * sum(n - 1.0 / n for n in sizes)


def _rig_out(spread: RoundedSpread, rig: RoundedSpread) -> RigOut | None:
    """None where the total is no more than a bound."""
    if not isinstance(spread.quoted, Estimate):
        return None
    known = isinstance(rig.quoted, Estimate)
    rig_mm = rig.quoted.value if isinstance(rig.quoted, Estimate) else 0.0
    return RigOut(
        total_mm=spread.quoted.value,
        rig_mm=rig_mm,
        rig_bounded=not known,
        rig_larger=rig_mm > spread.quoted.value,
    )
