"""Nested repeats: readings within settings, settings within days, and what each level adds.

The standard deviation of the upper level's means contains the lower level's over the root of the
readings behind each mean; the part the upper level adds by itself is the smaller figure.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy.typing as npt

from hostctl.metrology.basis.centred import exact_mean, finite_array, finite_groups, variance
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import AnovaLine, f_test, pooled_within
from hostctl.metrology.components.mean_squares import MeanSquare, component_interval
from hostctl.metrology.spread.rig import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoLevels:
    """Repeats within groups (days, settings) and the groups' own spread.

    `within`: repeatability. `of_means`: standard deviation of the group means. `between`: what the
    groups add by themselves. `u_mean`: standard uncertainty of the grand mean if the groups differ.
    `u_mean_pooled`: if they don't.
    """

    within: Spread
    of_means: Spread
    between: Estimate
    test: Significance | NotYet
    mean: float
    u_mean: float
    u_mean_pooled: float


def two_levels(groups: Sequence[npt.ArrayLike], confidence: float = 0.95) -> TwoLevels:
    """From the readings themselves; groups of one size, at least 2 of at least 2.

    Raises NotEnough otherwise: groups that differ in size go to `reml`.
    """
    arrays = finite_groups(groups, least=2, what="nested repeats")
    if len({array.size for array in arrays}) > 1:
        raise NotEnough("nested repeats: groups differ in size, use REML")
    line = pooled_within(arrays)
    within = Spread(s=math.sqrt(line.ms), df=line.df)
    return two_levels_of_means([exact_mean(a) for a in arrays], within, arrays[0].size, confidence)


def two_levels_of_means(
    means: npt.ArrayLike, within: Spread, readings: int, confidence: float = 0.95
) -> TwoLevels:
    """From group means of `readings` readings each and the pooled spread within groups.

    Raises NotEnough below 2 means. Source: JCGM 100:2008, H.5, equations H.23 to H.31; interval:
    Ting et al. 1990, J. Stat. Comput. Simul. 35, 135-143.
    """
    sample = finite_array(means, least=2, what="group means")
    if readings < 1:
        raise NotEnough(f"each mean is of {readings} readings, at least 1 is needed")
    groups = sample.size
    upper = MeanSquare(value=readings * variance(sample), df=groups - 1)
    lower = within.mean_square
    limits = component_interval(upper, lower, confidence)
    both = (upper.value * upper.df + lower.value * lower.df) / (upper.df + lower.df)
    return TwoLevels(
        within=within,
        of_means=Spread(s=math.sqrt(variance(sample)), df=groups - 1),
        between=Estimate(
            value=math.sqrt(max(0.0, upper.value - lower.value) / readings),
            interval=Interval(
                low=math.sqrt(limits.low / readings),
                high=math.sqrt(limits.high / readings),
                confidence=confidence,
            ),
            n=groups,
            how="mean squares between less within, floored at zero",
            source="JCGM 100:2008, H.5; Ting et al. 1990",
        ),
        test=_test(upper, lower),
        mean=exact_mean(sample),
        u_mean=math.sqrt(variance(sample) / groups),
        u_mean_pooled=math.sqrt(both / (groups * readings)),
    )


def _test(upper: MeanSquare, lower: MeanSquare) -> Significance | NotYet:
    between = AnovaLine(ss=upper.value * upper.df, df=int(upper.df))
    return f_test(between, AnovaLine(ss=lower.value * lower.df, df=int(lower.df)))
