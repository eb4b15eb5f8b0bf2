"""Confidence boxes: what functions of two quantities come to when each is known by its own."""

import math

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.confidence_box import (
    MESH,
    WEIGHTS,
    Quantiles,
    chance_difference_above,
    differences,
    quantile_of,
    thinned,
)


def normal(mean: float, sd: float) -> Quantiles:
    return Quantiles(tuple(mean + sd * z for z in MESH))


def test_quantiles_give_back_the_law_they_came_from():
    values = stats.gamma.ppf(stats.norm.cdf(MESH), 4.5)  # scipy
    law = Quantiles(tuple(values.tolist()))
    for x in (1.0, 3.3, 4.5, 9.0):
        assert law.below(x) == pytest.approx(stats.gamma.cdf(x, 4.5), abs=2e-3)
    assert law.below(values[0] - 1e-9) == 0.0
    assert law.below(values[-1]) == 1.0


def test_weights_are_those_of_a_mean():
    assert math.fsum(WEIGHTS) == pytest.approx(1.0, abs=1e-12)
    for every in (1, 2, 3):
        drawn = thinned(normal(2.0, 3.0), every)
        mean = sum(value * weight for value, weight in drawn)
        variance = sum((value - mean) ** 2 * weight for value, weight in drawn)
        assert (mean, variance) == pytest.approx((2.0, 9.0), rel=1e-3)


def test_a_difference_of_two_normal_quantities_is_normal():
    first, second = normal(1.0, 3.0), normal(-1.0, 4.0)
    for limit in (-6.0, 0.0, 2.0, 10.0):
        exact = stats.norm.sf(limit, 2.0, 5.0)  # scipy
        assert chance_difference_above(first, second, limit) == pytest.approx(exact, abs=5e-4)
    drawn = differences(first, second)
    for z, value in zip(MESH[6:-6], drawn.values[6:-6], strict=True):
        assert value == pytest.approx(2.0 + 5.0 * z, abs=0.05)


def test_a_bound_that_is_open_stays_open():
    open_above = Quantiles((*(float(i) for i in range(30)), *([math.inf] * 7)))
    assert open_above.below(1e9) < 1.0
    zero = Quantiles((*([0.0] * 10), *(float(i) for i in range(1, 28))))
    assert zero.below(0.0) == pytest.approx(stats.norm.cdf(MESH[9]))


def test_a_limit_is_where_the_chance_comes_down_to_the_risk():
    def chance(x: float) -> float:
        return float(stats.norm.sf(x))

    assert quantile_of(chance, 0.05, -9.0, 9.0) == pytest.approx(1.644854, abs=1e-5)
    assert quantile_of(chance, 0.05, 3.0, 9.0) == 3.0
    assert quantile_of(chance, 0.05, -9.0, -3.0) == -3.0


def test_a_ratio_of_two_standard_deviations_is_the_f_law():
    # each spread's box is s / sqrt(chi-square / df); the ratio of two of them has the F law: scipy
    p = stats.norm.cdf(MESH)

    def log_box(df: int) -> Quantiles:
        return Quantiles(tuple((-0.5 * np.log(stats.chi2.isf(p, df) / df)).tolist()))

    for ratio in (0.5, 0.8, 1.0, 2.0, 3.0):
        chance = chance_difference_above(log_box(4), log_box(11), math.log(ratio))
        assert chance == pytest.approx(stats.f.sf(ratio**2, 11, 4), abs=1e-3)
