"""Arrays checked and centred so that a large common part costs no digits.

Readings such as 1000000000000.4 share twelve digits that say nothing about their spread. The mean
is taken with a correctly rounded sum (`math.fsum`), subtracted, and the remainder's mean subtracted
again: the second step removes what rounding left in the first (the corrected two-pass form;
Chan, Golub, LeVeque 1983, The American Statistician 37, 242-247).
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why

Array = npt.NDArray[np.float64]


def finite_array(values: npt.ArrayLike, *, least: int, what: str) -> Array:
    """The values as a one-dimensional float array: at least `least`, every one finite.

    Raises NotEnough; `what` names the sample in its reason.
    """
    array = np.asarray(values, dtype=np.float64).reshape(-1)
    bad = np.flatnonzero(~np.isfinite(array))
    if bad.size:
        place = int(bad[0])
        value = float(array[place])
        raise NotEnough(Reason(Why.NOT_A_NUMBER, what=what, place=place + 1, value=value))
    if array.size < least:
        raise NotEnough(Reason(Why.TOO_FEW, what=what, given=array.size, least=least))
    return array


def finite_groups(groups: Sequence[npt.ArrayLike], *, least: int, what: str) -> list[Array]:
    """Each group as a checked array, at least two groups of at least `least` values.

    Raises NotEnough, naming the group by its place.
    """
    if len(groups) < 2:
        raise NotEnough(Reason(Why.TOO_FEW_GROUPS, what=what, given=len(groups)))
    return [
        finite_array(group, least=least, what=f"{what}, group {place}")
        for place, group in enumerate(groups, start=1)
    ]


def exact_sum(values: Array) -> float:
    """The correctly rounded sum."""
    return math.fsum(values.tolist())


def exact_mean(values: Array) -> float:
    """The mean, right to about the last bit; of values all alike, that very value."""
    mean = exact_sum(values) / values.size
    return min(max(mean, float(values.min())), float(values.max()))


def deviations(values: Array) -> Array:
    """Each value less the mean."""
    rough = values - exact_mean(values)
    centred: Array = rough - exact_mean(rough)
    return centred


def sum_of_squares(values: Array) -> float:
    """The sum of squared deviations from the mean."""
    return exact_sum(np.square(deviations(values)))


def variance(values: Array) -> float:
    """The sample variance, divisor n - 1."""
    return sum_of_squares(values) / (values.size - 1)
