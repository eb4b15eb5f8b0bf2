"""One-way and pooled analysis of variance, right to the last digits the data allow."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import (
    Array,
    exact_mean,
    exact_sum,
    finite_array,
    finite_groups,
    sum_of_squares,
)
from hostctl.metrology.basis.distributions import f_sf
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.mean_squares import MeanSquare
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaLine:
    """One line of an analysis of variance: sum of squares and degrees of freedom."""

    ss: float
    df: int

    @property
    def ms(self) -> float:
        """Mean square; zero where there are no degrees of freedom."""
        return self.ss / self.df if self.df else 0.0

    @property
    def mean_square(self) -> MeanSquare:
        """As a mean square with its degrees of freedom."""
        return MeanSquare(value=self.ms, df=self.df)

    def plus(self, other: "AnovaLine") -> "AnovaLine":
        """The two lines pooled."""
        return AnovaLine(ss=self.ss + other.ss, df=self.df + other.df)


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay:
    """Groups compared by their means. `test` is NotYet where nothing varies within the groups."""

    between: AnovaLine
    within: AnovaLine
    test: Significance | NotYet

    @property
    def residual_sd(self) -> float:
        """The pooled standard deviation within groups."""
        return math.sqrt(self.within.ms)


def one_way(groups: Sequence[npt.ArrayLike]) -> OneWay:
    """Analysis of variance of two or more groups; sizes may differ, one value a group will do.

    Raises NotEnough for fewer than two groups, an empty one, a value that is not a number, or no
    group with two values. Source: ISO 5725-2:2019, 7.5; checked against NIST StRD.
    """
    arrays = finite_groups(groups, least=1, what="analysis of variance")
    within = pooled_within(arrays)
    between = AnovaLine(ss=_between_ss(arrays), df=len(arrays) - 1)
    return OneWay(between=between, within=within, test=f_test(between, within))


def pooled_within(groups: Sequence[npt.ArrayLike]) -> AnovaLine:
    """The sums of squares within groups pooled, each about its own mean.

    Groups of one add nothing. Raises NotEnough where no group has two values.
    Source: NIST/SEMATECH e-Handbook 2.4.4.4.
    """
    arrays = [finite_array(group, least=1, what="a group") for group in groups]
    line = AnovaLine(
        ss=math.fsum(sum_of_squares(array) for array in arrays),
        df=sum(array.size - 1 for array in arrays),
    )
    if line.df == 0:
        raise NotEnough(Reason(Why.NO_REPEATS))
    return line


def f_test(effect: AnovaLine, error: AnovaLine) -> Significance | NotYet:
    """F of one line against another, or NotYet where the error line is empty or zero."""
    if error.df == 0 or effect.df == 0:
        return NotYet(reason=Reason(Why.NO_FREEDOM_LEFT))
    if error.ss == 0.0:
        return NotYet(reason=Reason(Why.NO_ERROR_TO_TEST_BY))
    ratio = effect.ms / error.ms
    return Significance(
        statistic=ratio,
        p_value=f_sf(ratio, effect.df, error.df),
        df=(effect.df, error.df),
        n=effect.df + error.df + 1,
        how="F test of mean squares",
        source="ISO 3534-3:2013, analysis of variance",
    )


def _between_ss(arrays: Sequence[Array]) -> float:
    """Taken on values centred at the grand mean, so that a common part cancels before squaring."""
    centre = exact_mean(np.concatenate(arrays))
    means = np.array([exact_mean(array - centre) for array in arrays])
    sizes = np.array([float(array.size) for array in arrays])
    grand = exact_sum(means * sizes) / exact_sum(sizes)
    return exact_sum(sizes * np.square(means - grand))
