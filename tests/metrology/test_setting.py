"""The rig taken out of what was read: bounds stay bounds, and points give the F test."""

import math

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.mean_squares import (
    MeanSquare,
    difference_interval,
    sum_interval,
)
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.rounded.rounding import spread_evidence, spread_from
from hostctl.metrology.spread.setting import (
    Setting,
    setting_is_above,
    setting_is_below,
    setting_lower,
    setting_of,
    setting_upper,
)

SEED = 3
WIDE = [-3, 2, 0, 4, -1, 1, -2, 3]


def evidence(*blocks):
    return spread_evidence([[float(v) for v in block] for block in blocks], resolution=1.0)


def scattered(sd, n, seed=SEED):
    """Readings with just this standard deviation, far above the resolution."""
    drawn = np.random.default_rng([seed, n]).normal(size=n)
    drawn = (drawn - drawn.mean()) / drawn.std(ddof=1)
    return evidence(np.rint(1e4 * sd * drawn).tolist())


def test_variances_subtract():
    found = setting_of(scattered(5.0, 10), scattered(3.0, 10))
    assert isinstance(found, Setting)
    assert found.value == pytest.approx(4e4, rel=1e-3)


def test_without_a_rig_check_there_is_no_figure():
    found = setting_of(scattered(5.0, 10), None)
    assert isinstance(found, NotYet)
    assert found.reason.code is Why.NO_RIG_CHECK


def test_a_total_below_the_rig_is_floored_and_said_not_to_be_distinguishable():
    found = setting_of(scattered(2.8, 10), scattered(3.0, 10))
    assert isinstance(found, Setting)
    assert (found.value, found.interval.low, found.distinguishable) == (0.0, 0.0, False)
    assert found.interval.high > 0.0


def test_a_rig_that_scatters_far_more_than_the_study_is_not_the_same_rig():
    found = setting_of(scattered(1.0, 30), scattered(3.0, 30))
    assert isinstance(found, NotYet)
    assert found.reason.code is Why.RIG_MORE_THAN_STUDY


def test_more_readings_alike_never_leave_a_looser_bound():
    rig = evidence([0, 1, 0, -1, 0, 1, 0, 0, -1, 0, 1, 0])
    found = [setting_of(evidence([0] * n), rig) for n in (3, 6, 8, 10)]
    bounds = [one.interval.high for one in found if isinstance(one, Setting)]
    together = [spread_from(evidence([0] * n), 0.95).interval.high for n in (3, 6, 8, 10)]
    assert bounds == pytest.approx(together[: len(bounds)], rel=1e-5)
    assert len(bounds) >= 3


@pytest.mark.parametrize(("total", "rig_out"), [(2.2, False), (2.8, True)])
def test_readings_that_scatter_no_more_than_the_rig_leave_the_bound_of_both(total, rig_out):
    both, rig = scattered(total, 10), scattered(3.0, 10)
    found = setting_of(both, rig)
    assert isinstance(found, Setting)
    assert found.rig_out == rig_out
    shared = found.interval.high == pytest.approx(spread_from(both, 0.95).interval.high, rel=1e-5)
    assert shared != rig_out
    assert (found.says.code is Why.SETTING_WITHIN_RIG) != rig_out


@pytest.mark.parametrize("ratio", [1.2, 1.7, 2.1])
def test_whether_there_is_anything_beside_the_rig_is_the_f_test(ratio):
    total, rig = scattered(3.0 * ratio, 10), scattered(3.0, 14)
    exact = stats.f.sf(ratio**2, 9, 13)  # scipy; one-sided, ISO 2854:1976 table G
    assert setting_is_below(total, rig, 0.0) == pytest.approx(exact, abs=1e-3)


def test_a_perfectly_known_rig_leaves_the_chi_square_limits_shifted():
    total, rig = scattered(5.0, 10), scattered(3.0, 4000)
    high, low = 5e4**2 * 9 / stats.chi2.ppf([0.05, 0.95], 9)  # scipy
    found = setting_upper(total, rig, 0.05), setting_lower(total, rig, 0.05)
    assert found[0] == pytest.approx(math.sqrt(high - 3e4**2), rel=0.01)
    assert found[1] == pytest.approx(math.sqrt(max(low - 3e4**2, 0.0)), rel=0.03)


@pytest.mark.parametrize("sigma", [2.5, 5.0])
def test_a_limit_is_where_the_chance_comes_down_to_the_risk(sigma):
    total, rig = evidence(WIDE), evidence([0, 1, 0, -1, 0, 0, 1, 0, -1, 0])
    risk = setting_is_above(total, rig, sigma)
    assert setting_upper(total, rig, risk) == pytest.approx(sigma, rel=1e-3)
    assert setting_is_above(total, None, sigma) == total.tails(sigma).narrow


def test_bounds_go_through_the_subtraction_as_bounds():
    wide, alike = evidence(WIDE), evidence([0] * 8)
    whole = spread_from(wide, 0.95)
    found = setting_of(wide, alike)
    assert isinstance(found, Setting)
    assert found.value == whole.quoted.value
    assert found.interval.low < whole.interval.low
    assert found.interval.high == pytest.approx(whole.interval.high, rel=1e-3)
    bounded = setting_of(alike, alike)
    assert isinstance(bounded, Setting)
    assert (bounded.value, bounded.interval.low, bounded.one_sided) == (None, 0.0, True)
    assert bounded.interval.high == pytest.approx(spread_from(alike, 0.95).interval.high, rel=0.01)
    assert isinstance(setting_of(alike, wide), NotYet)


def test_one_variance_has_the_exact_chi_square_interval():
    # e-Handbook 1.3.5.8, GEAR: s 0.006278908, n 100, 95 %: 0.00551 to 0.00729
    interval = sum_interval([MeanSquare(value=0.006278908**2, df=99)])
    assert interval.low**0.5 == pytest.approx(0.00551, abs=5e-6)
    assert interval.high**0.5 == pytest.approx(0.00729, abs=5e-6)


def test_a_perfectly_known_mean_square_leaves_the_chi_square_interval_shifted():
    total = MeanSquare(value=25.0, df=9)
    low, high = difference_interval(total, MeanSquare(value=9.0, df=1e9))
    exact = sum_interval([total])
    assert (low + 9.0, high + 9.0) == pytest.approx((exact.low, exact.high), rel=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize("truth", [0.0, 3.0])
@pytest.mark.parametrize(("n", "n_rig"), [(5, 10), (12, 20)])
def test_the_interval_covers_the_truth_as_often_as_stated(n, n_rig, truth):
    rng = np.random.default_rng([SEED, n, n_rig, int(10 * truth)])
    runs = 80
    covered = given = 0
    for _ in range(runs):
        total = np.rint(rng.normal(0.3, math.hypot(truth, 1.0), n)).tolist()
        rig = np.rint(rng.normal(0.1, 1.0, n_rig)).tolist()
        found = setting_of(evidence(total), evidence(rig))
        given += isinstance(found, Setting)
        covered += isinstance(found, Setting) and truth in found.interval
    assert covered / given >= 0.95 - 3 * (0.95 * 0.05 / runs) ** 0.5
    assert given >= 0.93 * runs
