"""What readings describe by themselves: how much is the rig's, whether a target is wanted.

Of these trials; nothing here promises anything of future ones.
"""

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.setting import Setting
from hostctl.report.sources.material import Goal, Material

SLACK_MM = 1e-9
"""What binary fractions may add to a reading that lies on the tolerance itself."""


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
