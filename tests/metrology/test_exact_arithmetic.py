"""Sums, products, ranks and roots that the figures rest on, against exact fractions and scipy."""

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import optimize, stats

from hostctl.metrology.basis.centred import (
    deviations,
    exact_mean,
    exact_sum,
    sum_of_squares,
    variance,
)
from hostctl.metrology.basis.distributions import beta_sf, normal_cdf
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.ranks import dense_ranks
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.basis.root_finding import close_in, fewest, solve_rising

RNG = np.random.default_rng(754)
A, B = RNG.normal(size=(2, 200)) * 10.0 ** RNG.integers(-12, 12, (2, 200))


def exactly(values):
    return [Fraction(value) for value in values.tolist()]


@pytest.mark.parametrize("level", [0.0, 1e6, 1e12])
def test_moments_about_the_mean_keep_their_digits(level):
    """By exact fractions of the doubles themselves."""
    sample = level + np.round(RNG.normal(size=300), 3)
    exact = exactly(sample)
    mean = sum(exact) / 300
    squares = sum((value - mean) ** 2 for value in exact)
    assert exact_sum(sample) == float(sum(exact))
    assert exact_mean(sample) == pytest.approx(float(mean), rel=2e-16)
    assert deviations(sample) == pytest.approx([float(v - mean) for v in exact], abs=1e-15)
    assert sum_of_squares(sample) == pytest.approx(float(squares), rel=1e-14)
    assert variance(sample) == pytest.approx(float(squares / 299), rel=1e-14)


def test_ranks_are_those_of_the_reference_library():
    """scipy.stats.rankdata, dense, and numpy's counts."""
    sample = np.round(RNG.normal(size=100), 1)
    ranks, sizes = dense_ranks(sample)
    assert (ranks + 1).tolist() == stats.rankdata(sample, method="dense").tolist()
    assert sizes.tolist() == np.unique(sample, return_counts=True)[1].tolist()


@pytest.mark.parametrize("goal", [1e-6, 0.05, 0.5, 0.95, 1 - 1e-6])
@pytest.mark.parametrize("guess", [-3.0, 0.4, 20.0])
def test_a_rising_function_is_solved_as_by_the_reference_library(goal, guess):
    """scipy.optimize.brentq."""

    def reached(k):
        return normal_cdf(k**3 + k)

    root = optimize.brentq(lambda k: reached(k) - goal, -30, 30, xtol=1e-15, rtol=1e-14)
    assert solve_rising(reached, goal, guess) == pytest.approx(root, rel=1e-9, abs=1e-9)


def test_closing_in_ends_at_the_root():
    """scipy.optimize.brentq."""

    def miss(x):
        return math.expm1(x) - 2.0

    root = optimize.brentq(miss, 0, 3)
    assert close_in(miss, 0.0, miss(0.0), 3.0, miss(3.0)) == pytest.approx(root, rel=1e-12)


@pytest.mark.parametrize("goal", [1, 2, 3, 64, 65, 1000])
def test_the_fewest_is_found_by_halving_as_by_counting(goal):
    asked = []
    assert fewest(lambda n: asked.append(n) or n >= goal, least=1) == goal
    assert len(asked) <= 2 * math.log2(goal) + 3
    with pytest.raises(NotEnough, match=f"{Why.MORE_THAN} most=10"):
        fewest(lambda n: n >= 11, least=1, most=10)
    assert fewest(lambda n: n >= 10, least=1, most=10) == 10


@pytest.mark.parametrize(("x", "a", "b"), [(0.3, 2.0, 5.0), (0.999, 0.5, 40.0), (1e-9, 0.5, 0.5)])
def test_the_upper_tail_of_a_beta_law_is_the_reference_librarys(x, a, b):
    """scipy.stats.beta."""
    assert beta_sf(x, a, b) == pytest.approx(stats.beta.sf(x, a, b), rel=1e-10)
