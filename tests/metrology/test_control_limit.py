"""The limit that stops a loop: one false stop in a hundred, a jump of 8 sigma at once."""

import math

import numpy as np
import pytest
from loops import error, stops
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.looping.control_limit import BASELINE, FALSE_STOPS, ControlLimit

SEED = 6


def checked(readings, most=10_000, resolution=0.001):
    limit = ControlLimit(most=most, resolution=resolution)
    return [limit.add(value) for value in readings]


def test_three_sigma_would_stop_a_loop_27_times():
    """The reason for all this: 10,000 touches, by scipy's normal law."""
    assert 10_000 * 2 * stats.norm.sf(3) == pytest.approx(27, abs=0.01)


def test_the_limit_is_students_shared_over_the_touches():
    readings = np.round(np.random.default_rng(SEED).normal(0, 0.02, BASELINE + 1), 3)
    *_, last = checked(readings)
    base = readings[:BASELINE]
    t = stats.t.isf(FALSE_STOPS / (10_000 - BASELINE) / 2, BASELINE - 1)
    reach = t * base.std(ddof=1) * math.sqrt(1 + 1 / BASELINE) + 0.0005
    assert last.centre == pytest.approx(base.mean())
    assert last.upper == pytest.approx(base.mean() + reach)
    assert last.lower == pytest.approx(base.mean() - reach)


def test_the_centre_follows_as_an_exponentially_weighted_mean():
    """NIST/SEMATECH e-Handbook 6.3.2.4: a_i = w x_i + (1 - w) a_(i-1)."""
    readings = np.round(np.random.default_rng(SEED).normal(0, 0.02, 90), 3)
    average = readings[:BASELINE].mean()
    for value in readings[BASELINE:-1]:
        average += (value - average) / BASELINE
    assert checked(readings)[-1].centre == pytest.approx(average)


def test_while_the_baseline_is_taken_nothing_is_judged():
    found = checked(np.zeros(BASELINE + 1))
    assert found[:BASELINE] == [None] * BASELINE
    assert not found[-1].beyond


def test_a_slow_drift_stops_nothing_and_is_told():
    rng = np.random.default_rng(SEED)
    readings = np.round(rng.normal(0, 0.01, 5000) + np.linspace(0, 0.2, 5000), 3)
    found = checked(readings)[BASELINE:]
    assert not any(check.beyond for check in found)
    assert found[-1].moved
    assert not found[0].moved


def test_a_touch_beyond_moves_no_centre():
    found = checked([*np.tile([0.0, 0.01], BASELINE // 2), 5.0, 0.0])
    assert found[-2].beyond
    assert found[-1].centre == found[-2].centre


def test_the_many_loops_of_the_simulation_are_stopped_as_the_class_stops():
    rng = np.random.default_rng(SEED)
    rows = np.round(rng.normal(0, 2, (50, 120)) + np.where(np.arange(120) == 90, 13.0, 0.0))
    one_by_one = [
        any(check is not None and check.beyond for check in checked(row, 120, 1.0))
        for row in rows.tolist()
    ]
    assert stops(rows, 120).tolist() == one_by_one
    assert 0 < sum(one_by_one) < 50


def test_a_loop_shorter_than_its_baseline_and_no_number():
    assert checked([0.0] * 10, most=10) == [None] * 10
    for before in (0, BASELINE):
        with pytest.raises(NotEnough):
            checked([*[0.0] * before, math.nan])
    with pytest.raises(ValueError, match="baseline"):
        ControlLimit(most=10, resolution=0.001, baseline=1)


@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.3, 3.0])
def test_one_loop_in_a_hundred_is_stopped_falsely_at_most(sigma):
    """Of 10,000 touches; fails beyond 3.5 simulation errors; more in tests/data/loops.md."""
    rng, loops = np.random.default_rng([SEED, 1]), 500
    places = rng.uniform(-0.5, 0.5, (loops, 1))
    readings = np.round(rng.standard_normal((loops, 10_000)) * sigma + places)
    assert stops(readings, 10_000).mean() <= 0.01 + 3.5 * error(0.01, loops)


@pytest.mark.slow
def test_a_jump_of_eight_sigma_is_seen_at_once_in_nine_loops_of_ten():
    rng = np.random.default_rng([SEED, 2])
    jump = np.where(np.arange(BASELINE + 1) == BASELINE, 8.0, 0.0)
    readings = np.round((rng.standard_normal((2000, BASELINE + 1)) + jump) * 3.0)
    assert stops(readings, 10_000).mean() > 0.9
