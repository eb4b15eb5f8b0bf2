"""The check of the normal law: figures against a library and tables, level, what it notices."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from house import loaded_by
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.oddities import normal_law_limits
from hostctl.metrology.oddities.normal_law import NormalLaw, kind_of, limits, normal_law
from hostctl.metrology.oddities.normal_law_limits import LIMITS, NOTICED
from hostctl.metrology.oddities.normal_law_simulation import (
    FREEDOMS,
    drawn_by_law,
    figures,
    limits_found,
    module,
    share_noticed,
)

SEED = 20_261_129
STUDIES = 10_000

# Percentage points of skewness and kurtosis of n normal values: Pearson and Hartley, Biometrika
# Tables for Statisticians I, tables 34 B and C, as in ISO 5479:1997 (from memory)
SKEWNESS_POINTS = [(25, 0.95, 0.711), (50, 0.95, 0.533), (50, 0.99, 0.787), (100, 0.99, 0.567)]
KURTOSIS_POINTS = [
    (50, 0.05, 2.15),
    (50, 0.95, 3.99),
    (50, 0.99, 4.88),
    (100, 0.95, 3.77),
    (200, 0.99, 3.98),
]


def rng():
    return np.random.default_rng(SEED)


def skewness_sd(n):
    return np.sqrt(6 * (n - 2) / ((n + 1) * (n + 3)))


def kurtosis_mean_sd(n):
    variance = 24 * n * (n - 2) * (n - 3) / ((n + 1) ** 2 * (n + 3) * (n + 5))
    return 3 * (n - 1) / (n + 1), np.sqrt(variance)


@pytest.mark.parametrize("n", [8, 12, 60])
def test_of_one_block_skewness_and_kurtosis_are_the_librarys(n):
    """Oracle: scipy.stats; brought to 0 ± 1 by the moments in D'Agostino 1970 (from memory)."""
    values = rng().exponential(size=n)
    found = normal_law([values.tolist()], resolution=0.01)
    mean, sd = kurtosis_mean_sd(n)
    assert found.skewness == pytest.approx(stats.skew(values) / skewness_sd(n))
    by_library = (stats.kurtosis(values, fisher=False) - mean) / sd
    assert found.kurtosis == pytest.approx(by_library)


@pytest.mark.parametrize(("n", "share", "point"), SKEWNESS_POINTS)
def test_skewness_has_its_published_percentage_points(n, share, point):
    _, skewness, _, _ = figures([rng().standard_normal((100_000, n))])
    assert np.quantile(skewness, share) * skewness_sd(n) == pytest.approx(point, rel=0.015)


@pytest.mark.parametrize(("n", "share", "point"), KURTOSIS_POINTS)
def test_kurtosis_has_its_published_percentage_points(n, share, point):
    _, _, kurtosis, _ = figures([rng().standard_normal((100_000, n))])
    mean, sd = kurtosis_mean_sd(n)
    assert np.quantile(kurtosis, share) * sd + mean == pytest.approx(point, rel=0.015)


@pytest.mark.parametrize("sizes", [(2, 4, 7, 12), (3,) * 6, (2,) * 10])
def test_over_blocks_of_any_size_both_are_0_within_1(sizes):
    source = rng()
    _, skewness, kurtosis, _ = figures([source.standard_normal((100_000, n)) for n in sizes])
    assert skewness.mean() == pytest.approx(0.0, abs=0.02)
    assert skewness.std() == pytest.approx(0.0 if max(sizes) == 2 else 1.0, abs=0.02)
    assert kurtosis.mean() == pytest.approx(0.0, abs=0.02)
    assert kurtosis.std() == pytest.approx(1.0, abs=0.03)


def test_the_two_groups_are_those_that_leave_least():
    """Oracle: every threshold tried with numpy's variances, groups of two or more."""
    values = np.sort(rng().normal(0.0, 5.0, 25).round())
    left = min(values[:k].var() * k + values[k:].var() * (25 - k) for k in range(2, 24))
    rounding = 25 / 12
    share = (left + rounding) / (values.var() * 25 + rounding)
    assert normal_law([values.tolist()], resolution=1.0).within_heaps == pytest.approx(share)


def test_of_many_normal_settings_two_groups_leave_the_published_share():
    """1 - 2/pi: D. R. Cox 1957, J. Amer. Statist. Assoc. 52, 543-547 (from memory)."""
    values = rng().normal(size=100_000)
    found = normal_law([values.tolist()], resolution=0.01)
    assert found.within_heaps == pytest.approx(1 - 2 / np.pi, abs=0.005)
    assert not found.doubted


@pytest.mark.parametrize("sizes", [(8,), (12,), (25,), (150,), (5, 5, 5), (8,) * 6, (3, 17)])
@pytest.mark.parametrize("sigma", [0.3, 0.5, 0.7, 1.0, 5.0])
@pytest.mark.parametrize("place", [0.0, 0.3, 0.5])
def test_rounded_normal_settings_are_doubted_in_at_most_1_percent(sizes, sigma, place):
    source = np.random.default_rng([SEED, *sizes])
    blocks = [np.round(source.standard_normal((STUDIES, n)) * sigma + place) for n in sizes]
    limit = 0.01 + 3.5 * np.sqrt(0.01 * 0.99 / STUDIES)
    assert share_noticed(blocks, kind_of(len(sizes))) <= limit


@pytest.mark.parametrize("n", [12, 20, 60])
@pytest.mark.parametrize("law", ["t5", "exponential", "two heaps", "one outlier"])
def test_what_is_noticed_is_noticed_as_often_with_another_seed(n, law):
    readings = np.round(3.0 * drawn_by_law(rng(), STUDIES, n)[law] + 0.2)
    assert share_noticed([readings], "one block") == pytest.approx(NOTICED[n][law], abs=0.025)


def test_one_study_is_judged_as_the_many_are():
    source = rng()
    drawn = [source.exponential(size=(50, n)).round(1) for n in (5, 9, 12)]
    spread, skewness, kurtosis, within = figures([block * 10 for block in drawn])
    for study in range(50):
        found = normal_law([block[study].tolist() for block in drawn], resolution=0.1)
        assert isinstance(found, NormalLaw)
        by_both = (found.skewness, found.kurtosis, found.within_heaps)
        assert by_both == pytest.approx((skewness[study], kurtosis[study], within[study]))
    assert spread.min() > 1.0


@pytest.mark.parametrize("n", [10, 20, 40, 100])
def test_two_heaps_and_a_gross_outlier_are_noticed(n):
    heaps = [0.0, 0.01, -0.01, 0.0, 0.01, 0.1, 0.11, 0.09, 0.1, 0.1] * (n // 10)
    around = [0.0, 0.01, -0.01, 0.02, -0.02, 0.01, 0.0, -0.01, 0.0, 0.01] * (n // 10)
    assert "two heaps" in normal_law([heaps], resolution=0.01).departures
    assert not normal_law([around], resolution=0.01).doubted
    assert "heavy tails" in normal_law([[*around, 0.3]], resolution=0.01).departures


def test_two_neighbouring_graduations_are_no_heaps():
    assert normal_law([[0.0, 0.01] * 30], resolution=0.01).reason.code is Why.LAW_HIDDEN
    apart = normal_law([[0.0, 0.02] * 30], resolution=0.01)
    assert apart.departures == ("two heaps",)


def test_too_few_settings_tell_nothing_and_a_blocks_zero_is_one():
    seven = [0.01, -0.02, 0.03, 0.0, -0.01, 0.02, -0.03]
    found = normal_law([seven], resolution=0.01)
    assert isinstance(found, NotYet)
    assert (found.reason.code, found.needs_n) == (Why.LAW_TOO_FEW, 8)
    assert normal_law([seven], resolution=0.01, reference="first").n == 8
    assert normal_law([], resolution=0.01).needs_n == 8


def test_no_number_is_refused():
    with pytest.raises(NotEnough):
        normal_law([[0.0, float("nan")] * 6], resolution=0.01)


@pytest.mark.parametrize("factor", [1e-3, 1.0, 25.4])
def test_the_unit_does_not_matter_nor_where_a_block_lies(factor):
    source = rng()
    blocks = [(source.normal(0, 3, 12).round() * factor).tolist() for _ in range(2)]
    moved = [blocks[0], [value + 40 * factor for value in blocks[1]]]
    one = normal_law(blocks, resolution=factor)
    other = normal_law(moved, resolution=factor)
    assert (one.skewness, one.kurtosis) == pytest.approx((other.skewness, other.kurtosis))
    assert one.within_heaps == pytest.approx(other.within_heaps)


@pytest.mark.parametrize("kind", LIMITS)
def test_between_the_degrees_of_freedom_tabled_limits_lie_between(kind):
    for low, high in pairwise(FREEDOMS):
        for at, below, above in zip(
            limits((low + high) // 2, kind), LIMITS[kind][low], LIMITS[kind][high], strict=True
        ):
            assert min(below, above) <= at <= max(below, above)
    assert limits(10**6, kind) == LIMITS[kind][FREEDOMS[-1]]


def test_the_table_is_what_the_command_writes():
    written = Path(normal_law_limits.__file__).read_text()
    assert written == module(LIMITS, NOTICED)


def test_a_limit_simulated_again_with_another_seed_is_near_the_one_tabled():
    found = limits_found(11, "one block", rng())
    assert found == pytest.approx(LIMITS["one block"][11], rel=0.12)


def test_differences_of_normal_settings_are_doubted_in_at_most_1_percent():
    readings = np.round(np.diff(rng().standard_normal((STUDIES, 16)), axis=1) * 1.5)
    limit = 0.01 + 3.5 * np.sqrt(0.01 * 0.99 / STUDIES)
    assert share_noticed([readings], kind_of(1, "previous")) <= limit


def test_the_check_loads_no_numpy():
    assert "numpy" not in loaded_by("import hostctl.metrology.oddities.normal_law")
