"""Mean squares: the interval of a difference, and what can't be analysed."""

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.mean_squares import MeanSquare, difference_interval
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.components.anova import one_way


def difference_of_mean_squares(m1: float, df1: float, m2: float, df2: float) -> tuple[float, float]:
    """Ting et al. 1990, closed form, two-sided 95 %, with scipy's quantiles."""
    chi = {q: stats.chi2.ppf(q, df1) / df1 for q in (0.025, 0.975)}
    psi = {q: stats.chi2.ppf(q, df2) / df2 for q in (0.025, 0.975)}

    def reach(share1: float, share2: float, f: float) -> float:
        cross = ((f - 1) ** 2 - (share1 * f) ** 2 - share2**2) / f
        return float(np.sqrt((share1 * m1) ** 2 + (share2 * m2) ** 2 + cross * m1 * m2))

    below = reach(1 - 1 / chi[0.975], 1 / psi[0.025] - 1, stats.f.ppf(0.975, df1, df2))
    above = reach(1 / chi[0.025] - 1, 1 - 1 / psi[0.975], stats.f.ppf(0.025, df1, df2))
    return m1 - m2 - below, m1 - m2 + above


@pytest.mark.parametrize(("m1", "df1", "m2", "df2"), [(9.0, 9, 2.0, 40), (1.1, 4, 1.0, 8)])
def test_the_interval_of_a_difference_of_mean_squares_is_the_published_form(m1, df1, m2, df2):
    got = difference_interval(MeanSquare(value=m1, df=df1), MeanSquare(value=m2, df=df2))
    assert got == pytest.approx(difference_of_mean_squares(m1, df1, m2, df2), rel=1e-9)


def test_one_way_is_that_of_the_reference_library():
    groups = [[1.0, 2.0, 4.0], [2.0, 2.5, 3.5], [6.0, 7.0, 6.5]]
    test, oracle = one_way(groups).test, stats.f_oneway(*groups)  # scipy
    assert (test.statistic, test.p_value) == pytest.approx((oracle.statistic, oracle.pvalue))


@pytest.mark.parametrize("bad", [[], [[1.0, 2.0]], [[1.0, 2.0], []], [[1.0, np.nan], [1.0, 2.0]]])
def test_what_cannot_be_analysed_is_refused(bad):
    with pytest.raises(NotEnough):
        one_way(bad)


def test_groups_without_repeats_or_scatter_are_refused_or_explained():
    with pytest.raises(NotEnough, match=Why.NO_REPEATS):
        one_way([[1.0], [2.0]])
    assert isinstance(one_way([[0.1, 0.1, 0.1], [0.3, 0.3, 0.3]]).test, NotYet)
    assert one_way([[0.1, 0.1], [0.1, 0.1]]).between.ss == 0.0
