"""What readings describe by themselves: how many lay within the tolerance, how much is the rig's.

Counts and shares of these trials; nothing here promises anything of future ones.
"""

from math import fsum

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.analysis.result.judgement import Inside, MeasuredFrom
from hostctl.report.sources.material import Goal, Material
from hostctl.report.sources.sample import Sample

SLACK_MM = 1e-9
"""What binary fractions may add to a reading that lies on the tolerance itself."""


def inside_tolerance(sample: Sample, goal: Goal, measured_from: MeasuredFrom) -> Inside | None:
    """How many lay within it. None for successive differences, which are no settings."""
    if sample.reference == "previous":
        return None
    within_mm = goal.within_mm + SLACK_MM
    inside = of = 0
    for settings in sample.settings:
        centre = 0.0 if measured_from == "datum" else fsum(settings) / len(settings)
        inside += sum(abs(value - centre) <= within_mm for value in settings)
        of += len(settings)
    return Inside(inside=int(inside), of=of)


def rig_share_of(
    spread: RoundedSpread | NotYet, setting: Setting | NotYet, rig: RoundedSpread | None
) -> float | None:
    """The rig's part of the variance of what was read; None where one is no more than a bound."""
    if rig is None or isinstance(spread, NotYet) or isinstance(setting, NotYet):
        return None
    if not isinstance(spread.quoted, Estimate) or not isinstance(rig.quoted, Estimate):
        return None
    return min((rig.quoted.value / spread.quoted.value) ** 2, 1.0)


def is_target_wanted(material: Material, goal: Goal | None) -> bool:
    """Whether a file's readings look like gaps: all farther from 0 than the tolerance."""
    if goal is None or material.counts_from is not None:
        return False
    nearest = (min(abs(float(value)) for value in block.values_mm) for block in material.blocks)
    return min(nearest) > goal.within_mm + SLACK_MM
