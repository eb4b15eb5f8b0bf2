"""The rig out of the total."""

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.mean_squares import (
    MeanSquare,
    difference_interval,
    variance_interval,
)
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.spread.rig import (
    SettingSpread,
    Spread,
    setting_spread,
    setting_spread_from_estimates,
)

SEED = 3


def spread(s: float, n: int) -> Spread:
    return Spread(s=s, df=n - 1)


def of(result: SettingSpread | NotYet) -> SettingSpread:
    assert isinstance(result, SettingSpread)
    return result


def test_variances_subtract():
    result = of(setting_spread(spread(0.05, 10), spread(0.03, 10)))
    assert result.spread.value == pytest.approx(0.04)
    assert not result.floored


def test_without_a_rig_check_there_is_no_figure():
    result = setting_spread(spread(0.05, 10), None)
    assert isinstance(result, NotYet)
    assert result.reason.code is Why.NO_RIG_CHECK


def test_a_total_below_the_rig_is_floored_and_said_not_to_be_distinguishable():
    result = of(setting_spread(spread(0.028, 10), spread(0.03, 10)))
    assert (result.spread.value, result.spread.low, result.floored) == (0.0, 0.0, True)
    assert not result.distinguishable
    assert result.spread.high > 0.0


def test_a_rig_that_scatters_far_more_than_the_study_is_not_the_same_rig():
    result = setting_spread(spread(0.01, 30), spread(0.03, 30))
    assert isinstance(result, NotYet)
    assert result.reason.code is Why.RIG_MORE_THAN_STUDY


@pytest.mark.parametrize(("s_total", "distinguishable"), [(0.0601, False), (0.0603, True)])
def test_distinguishable_means_the_f_test_says_so(s_total, distinguishable):
    # F(0.975; 9, 9) = 4.0260 (published F tables): s_total at the limit 0.060195
    result = of(setting_spread(spread(s_total, 10), spread(0.03, 10)))
    assert result.distinguishable is distinguishable
    assert (result.test.p_value < 0.025) is distinguishable


def test_one_variance_has_the_exact_chi_square_interval():
    # e-Handbook 1.3.5.8, GEAR: s 0.006278908, n 100, 95 %: 0.00551 to 0.00729
    interval = variance_interval(MeanSquare(value=0.006278908**2, df=99))
    assert interval.low**0.5 == pytest.approx(0.00551, abs=5e-6)
    assert interval.high**0.5 == pytest.approx(0.00729, abs=5e-6)


def test_a_perfectly_known_rig_leaves_the_chi_square_interval_shifted():
    total = MeanSquare(value=25.0, df=9)
    low, high = difference_interval(total, MeanSquare(value=9.0, df=1e9))
    exact = variance_interval(total)
    assert (low + 9.0, high + 9.0) == pytest.approx((exact.low, exact.high), rel=1e-3)


def test_spreads_with_their_own_intervals_subtract_too():
    def estimate(value: float, low: float, high: float) -> Estimate:
        limits = Interval(low=low, high=high, confidence=0.95)
        return Estimate(value=value, interval=limits, n=10, how="given", source="given")

    total, rig = estimate(5.0, 4.0, 7.0), estimate(3.0, 2.0, 4.0)
    result = of(setting_spread_from_estimates(total, rig))
    # by hand: 16 - sqrt(9^2 + 7^2) = 4.598; 16 + sqrt(24^2 + 5^2) = 40.515
    assert result.spread.value == pytest.approx(4.0)
    assert result.spread.low**2 == pytest.approx(4.5982, abs=1e-4)
    assert result.spread.high**2 == pytest.approx(40.5153, abs=1e-4)
    other = Interval(low=2.0, high=4.0, confidence=0.9)
    at_90_percent = Estimate(value=3.0, interval=other, n=10, how="given", source="given")
    with pytest.raises(ValueError, match="different confidence"):
        setting_spread_from_estimates(total, at_90_percent)


@pytest.mark.parametrize(("s", "df"), [(float("nan"), 5), (float("inf"), 5), (-1.0, 5), (1.0, 0)])
def test_what_is_no_standard_deviation_is_refused(s, df):
    with pytest.raises(NotEnough):
        Spread(s=s, df=df)


@pytest.mark.slow
@pytest.mark.parametrize("truth", [0.0, 0.5, 1.0, 3.0])
@pytest.mark.parametrize(("n", "n_rig"), [(3, 10), (10, 5), (10, 10), (30, 30)])
def test_the_interval_covers_the_truth_as_often_as_stated(n, n_rig, truth):
    rng = np.random.default_rng([SEED, n, n_rig, int(10 * truth)])
    runs = 500
    totals = rng.normal(0.0, np.hypot(truth, 1.0), (runs, n)).std(axis=1, ddof=1)
    rigs = rng.normal(0.0, 1.0, (runs, n_rig)).std(axis=1, ddof=1)
    results = [
        setting_spread(spread(total, n), spread(rig, n_rig))
        for total, rig in zip(totals.tolist(), rigs.tolist(), strict=True)
    ]
    given = [result for result in results if isinstance(result, SettingSpread)]
    covered = sum(truth in result.spread.interval for result in given) / len(given)
    # three standard errors of a share of 0.95 in 500
    assert covered >= 0.95 - 3 * 0.0097
    assert len(given) >= 0.96 * runs
