"""What is odd in an axis test: found where it was put in, and rarely said where it was not."""

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.geometry.axis_oddities import (
    RISK,
    far_off,
    moves_less,
    passes_together,
)

SEED, TESTS = 7, 1000
Sides = tuple[list[list[float]], list[list[float]]]


def sides(rng, sigma, targets=5, runs=5, of_pass=0.0) -> Sides:
    """Rounded to 1, each target's mean anywhere within a step."""
    anywhere = rng.uniform(-0.5, 0.5, (2, targets, 1))
    passes = rng.normal(0.0, of_pass, (2, 1, runs))
    up, down = np.round(rng.normal(0.0, sigma, (2, targets, runs)) + anywhere + passes)
    return up.tolist(), down.tolist()


def test_a_position_typed_wrongly_is_found_and_it_alone():
    rng = np.random.default_rng(SEED)
    for at in range(100):
        up, down = sides(rng, 0.7)
        target, run = divmod(at % 25, 5)
        down[target][run] += 100.0
        (found,) = far_off(up, down, 1.0)
        assert (found.rising, found.target, found.run) == (False, target, run)
        assert found.off == pytest.approx(100.0, abs=3.0)


def test_one_of_three_runs_is_the_one_that_is_off():
    (found,) = far_off([[0.0, 0.0, 100.0], [0.0, 1.0, 0.0], [1.0, 1.0, 0.0]], [], 1.0)
    assert (found.target, found.run) == (0, 2)


def test_several_far_off_do_not_hide_each_other():
    up, down = sides(np.random.default_rng(SEED), 0.7)
    for target in range(4):
        up[target][target] += 50.0
    assert [one.target for one in far_off(up, down, 1.0)] == [0, 1, 2, 3]


@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.2, 0.5, 1.0, 3.0])
def test_of_tests_in_which_nothing_is_odd_few_are_said_to_be(sigma):
    """Of passes at most 1 % (RISK); of the others, whose rules are ours, fewer than 1 % as well."""
    rng, said = np.random.default_rng(SEED), np.zeros(3)
    for _ in range(TESTS):
        up, down = sides(rng, sigma)
        together, less = passes_together(up, down, 1.0), moves_less(up, down, 1.0)
        said += bool(far_off(up, down, 1.0)), together is not None, less is not None
    assert (said / TESTS <= RISK + 3.5 * np.sqrt(RISK * (1 - RISK) / TESTS)).all()


def test_passes_that_scatter_as_wholes_are_found_with_their_spread():
    rng = np.random.default_rng(SEED)
    found = [passes_together(*sides(rng, 0.5, of_pass=2.0), 1.0) for _ in range(200)]
    spreads = [one.spread for one in found if one is not None]
    assert len(spreads) > 190
    assert np.sqrt(np.mean(np.square(spreads))) == pytest.approx(2.0, rel=0.1)


def test_the_f_test_is_that_of_rows_and_columns_without_repetition():
    """By scipy's F and sums of squares written out."""
    up = np.random.default_rng(SEED).normal(0.0, 1.0, (4, 6)) + np.arange(6)
    found = passes_together(up.tolist(), [], 1e-6)
    passes = 4 * np.sum((up.mean(axis=0) - up.mean()) ** 2) / 5
    left = up - up.mean(axis=0) - up.mean(axis=1, keepdims=True) + up.mean()
    assert found is not None
    assert found.p == pytest.approx(stats.f.sf(passes / (np.sum(left**2) / 15), 5, 15))


def test_a_last_target_that_fell_short_is_told_by_how_much():
    up, down = sides(np.random.default_rng(SEED), 0.5)
    up[-1], down[-1] = [[one - 6.0 for one in row] for row in (up[-1], down[-1])]
    assert moves_less(up, down, 1.0) == pytest.approx(6.0, abs=1.5)


def test_an_axis_that_falls_short_everywhere_is_not_said_to_hang_free():
    up, down = (
        [[one - 6.0 * at for one in row] for at, row in enumerate(side)]
        for side in sides(np.random.default_rng(SEED), 0.5)
    )
    assert moves_less(up, down, 1.0) is None


def test_readings_alike_at_the_last_target_alone_are_noticed():
    scattered = [[0.0, 2.0, -1.0]] * 3
    assert moves_less([*scattered, [0.0] * 3], [*scattered, [0.0] * 3], 1.0) == 0.0
    assert moves_less([[0.0] * 3] * 4, [[0.0] * 3] * 4, 1.0) is None
