"""Do several groups have the same spread: Bartlett, Levene, Brown-Forsythe.

Brown-Forsythe (distances from the medians) is the one to quote for rounded readings; Bartlett is
exact-ish for normal ones only and can't be formed where a group's readings are all alike.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import deviations, finite_groups, variance
from hostctl.metrology.basis.distributions import chi_square_sf
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import one_way


def bartlett(groups: Sequence[npt.ArrayLike]) -> Significance | NotYet:
    """Bartlett's test, corrected. Raises NotEnough below two groups of two readings.

    NotYet where a group is all alike. Source: Bartlett 1937, Proc. R. Soc. A 160, 268-282;
    e-Handbook 1.3.5.7.
    """
    arrays = finite_groups(groups, least=2, what="Bartlett's test")
    dfs = [array.size - 1 for array in arrays]
    variances = [variance(array) for array in arrays]
    if min(variances) == 0.0:
        return NotYet(reason="a group's readings are all alike: use Brown-Forsythe")
    df = sum(dfs)
    pooled = sum(f * v for f, v in zip(dfs, variances, strict=True)) / df
    raw = df * math.log(pooled) - sum(f * math.log(v) for f, v in zip(dfs, variances, strict=True))
    correction = 1.0 + (sum(1.0 / f for f in dfs) - 1.0 / df) / (3.0 * (len(arrays) - 1))
    statistic = max(0.0, raw / correction)
    return Significance(
        statistic=statistic,
        p_value=chi_square_sf(statistic, len(arrays) - 1),
        df=(len(arrays) - 1,),
        n=df + len(arrays),
        how="Bartlett's test",
        source="Bartlett 1937; e-Handbook 1.3.5.7",
    )


def levene(
    groups: Sequence[npt.ArrayLike], centre: Literal["mean", "median"] = "median"
) -> Significance | NotYet:
    """Analysis of variance of distances from each group's centre.

    About the median it is Brown and Forsythe's test. Raises NotEnough below two groups of two
    readings; NotYet where the distances do not vary within any group.
    Source: Levene 1960; Brown and Forsythe 1974, JASA 69, 364-367; e-Handbook 1.3.5.10.
    """
    arrays = finite_groups(groups, least=2, what="test of spreads")
    away = [np.abs(deviations(a)) if centre == "mean" else np.abs(a - np.median(a)) for a in arrays]
    test = one_way(away).test
    if isinstance(test, NotYet):
        return test
    return replace(
        test,
        how="Levene's test" if centre == "mean" else "Brown-Forsythe test",
        source="Levene 1960; Brown and Forsythe 1974; e-Handbook 1.3.5.10",
    )


def brown_forsythe(groups: Sequence[npt.ArrayLike]) -> Significance | NotYet:
    """Levene's test about the medians: the test of spreads for rounded readings."""
    return levene(groups, centre="median")
