"""What a loop says at its end: by point, side, temperature, hour and homing; failures; the wait."""

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.looping.groups import (
    by_hour,
    by_name,
    failure_share,
    group_of,
    homing_scatter,
)
from hostctl.metrology.looping.line import slope_of
from hostctl.metrology.looping.paired import paired_difference
from hostctl.metrology.looping.wait import warm_up_wait

SEED = 7
H = 0.001


def read(values):
    return np.round(np.asarray(values) / H) * H


def test_touches_are_told_apart_by_name_in_the_order_they_came():
    found = by_name([1.0, 2.0, 1.5, 2.5, 1.0], ["b", "a", "b", "a", "b"], resolution=0.5)
    assert list(found) == ["b", "a"]
    assert found["b"].n == 3
    assert found["a"].mean.value == 2.25


def test_a_mean_of_wide_readings_has_students_interval():
    values = read(np.random.default_rng(SEED).normal(1.0, 0.02, 40))
    low, high = stats.t.interval(0.95, 39, values.mean(), stats.sem(values))
    found = group_of(values, resolution=H)
    assert (found.mean.low, found.mean.high) == pytest.approx((low, high))
    assert found.spread.value == pytest.approx(values.std(ddof=1), rel=0.01)


def test_hours_count_from_time_0_and_a_single_touch_has_no_interval():
    found = by_hour([1.0, 1.0, 2.0], [0.0, 3599.9, 7200.0], resolution=0.5)
    assert list(found) == [0, 2]
    assert found[2].mean.reason.code is Why.ONE_READING


def test_a_slope_of_independent_readings_is_that_of_scipy():
    rng = np.random.default_rng(SEED)
    temperatures = rng.uniform(20.0, 60.0, 500)
    values = 0.003 * temperatures + rng.normal(0.0, 0.05, 500)
    found = slope_of(values, temperatures, what="temperature", resolution=0.0)
    line = stats.linregress(temperatures, values)
    assert found.value == pytest.approx(line.slope)
    rest = values - line.intercept - line.slope * temperatures
    alike = max(float(rest[1:] @ rest[:-1] / (rest @ rest)), 0.0)
    worth = 500 * (1 - alike) / (1 + alike)
    reach = stats.t.isf(0.025, worth - 2) * line.stderr * np.sqrt(500 / worth)
    assert found.high - found.value == pytest.approx(reach)


def test_no_slope_where_the_temperature_hardly_varied_or_touches_are_few():
    still = slope_of([1.0] * 20, [20.0, 20.1] * 10, what="t", resolution=H, least_range=0.2)
    assert still.reason.code is Why.DOES_NOT_VARY
    assert slope_of([1.0] * 9, range(9), what="t", resolution=H).needs_n == 10


def test_a_slope_of_readings_alike_to_their_neighbours_holds_the_truth():
    """No slope, likeness 0.8: without the allowance two intervals of three would leave out 0."""
    rng, held = np.random.default_rng(SEED), 0
    for _ in range(150):
        noise, values = rng.normal(size=400), np.empty(400)
        value = 0.0
        for i, one in enumerate(noise):
            values[i] = value = 0.8 * value + one
        held += 0.0 in slope_of(values, np.arange(400.0), what="time", resolution=0.0).interval
    assert held / 150 > 0.85


def test_pairs_of_wide_readings_are_students():
    rng = np.random.default_rng(SEED)
    point = rng.normal(0.0, 0.1, 30)
    first, second = read(point + rng.normal(0.01, 0.02, 30)), read(point + rng.normal(0, 0.02, 30))
    found = paired_difference(first, second, resolution=H)
    expected = stats.ttest_rel(first, second).confidence_interval(0.95)
    assert found.mean.value == pytest.approx(np.mean(first - second))
    assert (found.mean.low, found.mean.high) == pytest.approx(tuple(expected), rel=1e-3)
    assert found.spread.value == pytest.approx(np.std(first - second, ddof=1))


def test_pairs_that_rounding_holds_still_say_no_more_than_a_graduation():
    found = paired_difference([0.1] * 20, [0.0] * 20, resolution=0.1)
    assert found.mean.low <= 0.0
    assert found.mean.high >= 0.2 - 1e-9
    assert found.spread.low == 0.0
    assert found.spread.high >= 0.1


@pytest.mark.parametrize(
    ("sigma", "h", "other"), [(0.3, 1.0, 1.0), (1.0, 1.0, 0.1), (3.0, 1.0, 1.0)]
)
def test_the_difference_of_two_gauges_holds_the_truth(sigma, h, other):
    rng, wrong = np.random.default_rng([SEED, 1]), 0
    for _ in range(200):
        middles = rng.uniform(-0.5, 0.5, 2)
        first = np.round(rng.normal(middles[0], sigma, 20) / h) * h
        second = np.round(rng.normal(middles[1], sigma, 20) / other) * other
        found = paired_difference(first, second, resolution=h, second_resolution=other)
        wrong += middles[0] - middles[1] not in found.mean.interval
    assert wrong / 200 <= 0.05 + 3.5 * np.sqrt(0.05 * 0.95 / 200)


def test_pairs_need_two_and_as_many_of_each():
    assert isinstance(paired_difference([1.0], [1.0], resolution=H), NotYet)
    with pytest.raises(ValueError, match="pairs"):
        paired_difference([1.0, 2.0], [1.0], resolution=H)


def test_homing_is_tested_as_scipy_tests_and_its_scatter_found():
    rng = np.random.default_rng(SEED)
    segments = [read(rng.normal(rng.normal(0.0, 0.05), 0.01, 25)) for _ in range(30)]
    found = homing_scatter(segments, resolution=H)
    assert found.test.p_value == pytest.approx(stats.f_oneway(*segments).pvalue, abs=1e-12)
    assert 0.05 in found.homing.interval
    pooled = np.sqrt(np.mean([one.var(ddof=1) for one in segments]))
    assert found.within.value == pytest.approx(pooled, rel=0.002)


def test_homing_that_adds_nothing_has_a_lower_limit_of_nothing_and_one_homing_says_nothing():
    rng = np.random.default_rng(SEED)
    assert homing_scatter(list(read(rng.normal(size=(20, 10)))), resolution=H).homing.low == 0.0
    assert isinstance(homing_scatter([[1.0, 2.0]], resolution=H), NotYet)
    assert isinstance(homing_scatter([[1.0], [2.0]], resolution=H), NotYet)


@pytest.mark.parametrize(("failures", "tries"), [(0, 50), (4, 20), (20, 20)])
def test_failures_have_clopper_and_pearsons_limits(failures, tries):
    expected = stats.binomtest(failures, tries).proportion_ci(0.95, method="exact")
    found = failure_share(failures, tries)
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high))


def test_without_a_try_there_is_no_share():
    assert isinstance(failure_share(0, 0), NotYet)


def warming_loop(rng, by=0.05, settles_s=240.0, n=1200):
    times = np.arange(n) * 6.0
    return read(by * np.exp(-times / settles_s) + rng.normal(0.0, 0.005, n)), times


def test_the_wait_is_until_the_rest_of_the_warm_up_no_longer_matters():
    """0.05 exp(-t / 240 s) falls to 0.005 after 553 s; stretches are 180 s long."""
    for seed in range(5):
        readings, times = warming_loop(np.random.default_rng([SEED, seed]))
        found = warm_up_wait(readings, times, matters=0.005, resolution=H)
        assert 300.0 <= found.wait_s <= 553.0 + 180.0
        assert found.touches == found.wait_s / 6.0
        assert found.drifted > 0.02


def test_no_wait_is_advised_where_nothing_warms_up():
    waits = [
        warm_up_wait(
            *warming_loop(np.random.default_rng([SEED, k]), by=0.0), matters=0.0, resolution=H
        )
        for k in range(40)
    ]
    advised = [not isinstance(wait, NotYet) and wait.wait_s > 0 for wait in waits]
    assert sum(advised) <= 3


def test_a_loop_that_drifts_to_its_end_or_is_short_tells_no_wait():
    readings, times = warming_loop(np.random.default_rng(SEED), by=0.5, settles_s=8000.0)
    found = warm_up_wait(readings, times, matters=0.005, resolution=H)
    assert found.reason.code is Why.DRIFTS_TO_THE_END
    assert warm_up_wait([1.0] * 23, range(23), matters=0.0, resolution=H).needs_n == 24
