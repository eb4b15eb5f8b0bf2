"""Limits of an axis' own repeatability and reversal, by readings that were rounded."""

import math
from itertools import pairwise

import numpy as np
import pytest
from axis_simulation import CASES, FIGURES, misses
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.geometry.axis_limits import axis_limits

UP = [[0.0, 0.001, 0.003, 0.002, 0.004], [0.010, 0.012, 0.011, 0.014, 0.013]]
DOWN = [[0.020, 0.021, 0.023, 0.022, 0.024], [0.030, 0.032, 0.031, 0.034, 0.036]]


def test_fine_readings_have_the_chi_square_limits_shared_over_the_targets():
    """Rounded a thousand times finer than they scatter: the oracle is scipy's chi-square law."""
    limits = axis_limits(UP, DOWN, resolution=1e-6)
    for row, interval in zip(UP, limits.sds_up, strict=True):
        squares = float(np.var(row)) * len(row)
        missed = stats.chi2.sf(squares / interval.low**2, 4) + stats.chi2.cdf(
            squares / interval.high**2, 4
        )
        assert missed == pytest.approx(0.05 / 2, rel=2e-2)
    assert limits.repeatability_up is not None
    assert limits.repeatability_up.high == 4 * max(one.high for one in limits.sds_up)


def test_a_repeatability_of_none_is_a_bound_that_grows_with_the_graduation():
    alike = [[0.0] * 5, [0.01] * 5]
    bounds = [axis_limits(alike, [], resolution=h).repeatability_up for h in (0.001, 0.01)]
    assert all(one is not None and one.low == 0.0 < one.high for one in bounds)
    fine, coarse = (one.high for one in bounds if one is not None)
    assert coarse == pytest.approx(10 * fine, rel=1e-6)


def test_one_side_alone_has_no_reversal():
    limits = axis_limits(UP, [], resolution=0.001)
    assert (limits.reversal, limits.repeatability, limits.repeatability_down) == (None,) * 3
    assert limits.reversals == limits.sds_down == ()


def test_the_reversal_has_no_sign_but_those_of_targets_have():
    limits = axis_limits(UP, DOWN, resolution=0.001)
    assert limits.reversal is not None
    assert all(one.high < 0 for one in limits.reversals)
    assert limits.reversal.low > 0
    assert limits.reversal.high == max(-one.low for one in limits.reversals)


def test_more_runs_say_more():
    chance = np.random.default_rng(1)
    rows = np.round(chance.normal(0, 0.004, (3, 40)), 3)
    widths = []
    for runs in (5, 10, 40):
        limits = axis_limits(list(rows[:, :runs]), [], resolution=0.001)
        assert limits.repeatability_up is not None
        widths.append(limits.repeatability_up.high - limits.repeatability_up.low)
    assert all(one > other for one, other in pairwise(widths))


def test_single_runs_tell_nothing():
    with pytest.raises(NotEnough):
        axis_limits([[0.0], [0.1]], [], resolution=0.01)


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.parametrize("name", ["scatter of a graduation", "ten runs"])
def test_limits_hold_on_simulated_axes(name: str):
    """Wrong in 5 % at most, failing beyond 3.5 simulation errors; `tests/data/axis.md` has more."""
    times = 40
    most = times * 0.05 + 3.5 * math.sqrt(times * 0.05 * 0.95)
    missed = misses(CASES[name], times, seed=99)
    assert {figure: missed[figure] <= most for figure in FIGURES} == dict.fromkeys(FIGURES, True)
