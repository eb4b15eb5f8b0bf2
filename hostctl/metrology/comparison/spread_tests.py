"""Do several groups have the same spread: Brown-Forsythe, by distances from the medians."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import finite_groups
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.anova import one_way


def brown_forsythe(groups: Sequence[npt.ArrayLike]) -> Significance | NotYet:
    """Analysis of variance of distances from each group's median; fair for rounded readings.

    Raises NotEnough below two groups of two readings; NotYet where the distances do not vary
    within any group.  Source: Brown and Forsythe 1974, JASA 69, 364-367; e-Handbook 1.3.5.10.
    """
    arrays = finite_groups(groups, least=2, what="test of spreads")
    test = one_way([np.abs(array - np.median(array)) for array in arrays]).test
    if isinstance(test, NotYet):
        return test
    return replace(
        test,
        how="Brown-Forsythe test",
        source="Levene 1960; Brown and Forsythe 1974; e-Handbook 1.3.5.10",
    )
