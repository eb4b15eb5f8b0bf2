"""Outliers, drift and neighbours within blocks: with one block, the tests everybody knows."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.random_orders import share_as_extreme
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.oddities.block_order import (
    BlockDrift,
    Neighbours,
    block_drift,
    block_neighbours,
)
from hostctl.metrology.oddities.block_outliers import block_outliers

SEED = 20_251_126
with (Path(__file__).parents[1] / "data" / "serial_order" / "Lew.csv").open() as file:
    DEFLECTIONS = [float(row[0]) for row in list(csv.reader(file))[1:]]

# Rosner 1983, Technometrics 25, table 1, as e-Handbook 1.3.5.17.3 works it (from memory)
# fmt: off
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56,
    1.58, 1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10,
    2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92,
    2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
]
# fmt: on
ROSNER_R = [3.118, 2.942, 3.179, 2.810, 2.815, 2.848, 2.279, 2.310, 2.101, 2.067]
ROSNER_LIMITS = [3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085]


def test_one_block_gives_rosners_three_outliers():
    # Rosner 1983, as e-Handbook 1.3.5.17.3 works it (from memory); figures there are cut
    found = block_outliers([ROSNER], most=10)
    assert [ROSNER[one.place] for one in found] == [6.01, 5.42, 5.34]
    scales = [(1.0 - 1.0 / n) ** 0.5 for n in (54, 53, 52)]
    distances = [one.distance * scale for one, scale in zip(found, scales, strict=True)]
    limits = [one.limit * scale for one, scale in zip(found, scales, strict=True)]
    assert distances == pytest.approx(ROSNER_R[:3], abs=1e-3)
    assert limits == pytest.approx(ROSNER_LIMITS[:3], abs=1e-3)


def test_a_block_of_its_own_zero_hides_no_outlier():
    shifted = [[value + 100.0 for value in ROSNER], [0.0, 0.1, -0.1]]
    assert {(one.block, one.place) for one in block_outliers(shifted, most=3)} >= {(0, 53)}


OUTLIERS = Path(__file__).parents[1] / "data" / "outliers"
URANIUM = json.loads((OUTLIERS / "grubbs_uranium.json").read_text())
with (OUTLIERS / "grubbs_critical.csv").open() as file:
    rows = list(csv.DictReader(file))
GRUBBS_LIMITS = [{key: float(word) for key, word in row.items()} for row in rows]


def test_one_block_gives_the_uranium_outlier():
    # e-Handbook 1.3.5.17.1 (from memory): G 2.4687, 245.57 is an outlier
    sample = [float(text) for text in URANIUM["data"]]
    (found,) = block_outliers([sample], most=1)
    assert (found.place, sample[found.place]) == (7, 245.57)
    scale = (1.0 - 1.0 / len(sample)) ** 0.5
    assert found.distance * scale == pytest.approx(URANIUM["recomputed"]["G"], rel=1e-12)
    assert found.away == pytest.approx(245.57 - np.mean(sample))


@pytest.mark.parametrize("row", GRUBBS_LIMITS, ids=lambda row: f"n={row['n']:.0f}")
def test_one_blocks_limits_are_those_of_the_table(row):
    """ISO 5725-2:1994, table 5 (from memory; see SOURCE.md beside the data)."""
    n = int(row["n"])
    sample = [*range(n - 1), 1e9]
    for alpha, column in [(0.05, "two_sided_5pct"), (0.01, "two_sided_1pct")]:
        (found,) = block_outliers([sample], most=1, alpha=alpha)
        assert found.limit * (1.0 - 1.0 / n) ** 0.5 == pytest.approx(row[column], rel=1e-8)


def test_the_p_value_over_blocks_is_alpha_at_the_limit():
    blocks = [[0.0, 0.1, -0.1, 2.0], [5.0, 5.2, 4.9, 5.1, 5.0]]
    (found,) = block_outliers(blocks, most=1)
    (again,) = block_outliers(blocks, most=1, alpha=found.p_value * (1 + 1e-9))
    assert again.distance == pytest.approx(again.limit, rel=1e-6)
    assert (found.block, found.place) == (0, 3)


@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.5, 1.0, 5.0])
def test_a_false_outlier_is_as_rare_as_promised(sigma: float):
    rng = np.random.default_rng([SEED, int(10 * sigma)])
    studies = [
        [list(np.rint(rng.normal(rng.uniform(), sigma, 6))) for _ in range(3)] for _ in range(500)
    ]
    alarms = sum(bool(block_outliers(blocks, most=3, resolution=1.0)) for blocks in studies)
    assert alarms / 500 <= 0.05 + 3 * (0.05 * 0.95 / 500) ** 0.5


def test_one_reading_a_graduation_off_among_many_alike_is_no_outlier():
    assert block_outliers([[0.0] * 11 + [0.01]], most=1, resolution=0.01) == ()
    assert len(block_outliers([[0.0] * 11 + [0.01]], most=1)) == 1


def test_one_block_drifts_as_mann_kendall_and_least_squares_have_it():
    rng = np.random.default_rng(SEED)
    sample = np.round(rng.normal(0.0, 2.0, 60) + 0.05 * np.arange(60))
    found, line = block_drift([list(sample)]), stats.linregress(np.arange(60), sample)  # scipy
    assert isinstance(found, BlockDrift)
    reach = stats.t.ppf(0.975, 58) * line.stderr
    got = (found.slope.value, found.slope.low, found.slope.high)
    assert got == pytest.approx((line.slope, line.slope - reach, line.slope + reach))
    rest = sample - line.intercept - line.slope * np.arange(60)
    assert found.residual_sd == pytest.approx((rest @ rest / 58) ** 0.5)


@pytest.mark.parametrize("n", [7, 12, 30])
def test_drift_without_ties_is_kendalls_test(n):
    sample = np.random.default_rng(n).permutation(n).astype(float)
    variance = n * (n - 1) * (2 * n + 5) / 18  # Kendall 1975; less 1 for continuity
    tau = stats.kendalltau(np.arange(n), sample).statistic  # scipy
    score = round(tau * n * (n - 1) / 2)
    test = block_drift([list(sample)]).test
    assert test.statistic == score
    known = 2 * stats.norm.sf(max(abs(score) - 1, 0) / variance**0.5)
    assert test.p_value == pytest.approx(min(1.0, known))


def test_drift_corrects_for_ties_and_continuity():
    # 1 2 2 3 3 3 4 5 by hand: 28 pairs less 1 + 3 tied; Var = (8*7*21 - 2*1*9 - 3*2*11) / 18
    test = block_drift([[1.0, 2.0, 2.0, 3.0, 3.0, 3.0, 4.0, 5.0]]).test
    z = (24 - 1) / ((1176 - 18 - 66) / 18) ** 0.5
    assert test.statistic == 24
    assert test.p_value == pytest.approx(2 * stats.norm.sf(z), rel=1e-9)


def test_many_settings_are_scored_as_few_are():
    sample = np.round(np.random.default_rng(SEED).normal(0.0, 2.0, 90))
    assert block_drift([list(sample)]).test == block_drift([sample]).test


def test_scores_of_blocks_add_up():
    # Kendall's tau of each block: scipy counts the same pairs
    blocks = [[1.0, 3.0, 2.0, 5.0, 4.0], [9.0, 7.0, 8.0, 6.0]]
    scores = [
        round(stats.kendalltau(range(len(b)), b).statistic * len(b) * (len(b) - 1) / 2)
        for b in blocks
    ]
    assert block_drift(blocks).test.statistic == sum(scores) == 6 - 4


def test_neighbours_of_one_block_are_the_lag_1_autocorrelation():
    # beam deflections: NIST StRD Lew, certified; band of e-Handbook 1.4.2.5.3 (from memory)
    found = block_neighbours([DEFLECTIONS])
    assert isinstance(found, Neighbours)
    assert found.value == pytest.approx(-0.307304800605679, rel=1e-13)
    assert found.band == pytest.approx(0.139, abs=5e-4)
    assert found.unusual


def test_a_common_slope_is_that_of_least_squares_with_a_level_a_block():
    # numpy's least squares with a column a block; the interval is Student's t, scipy's quantile
    first, second = [0.0, 1.0, 1.5, 3.5], [9.0, 9.5, 11.0]
    columns = np.array([[0, 1, 2, 3, 0, 1, 2], [1, 1, 1, 1, 0, 0, 0], [0, 0, 0, 0, 1, 1, 1]]).T
    fit, rest, *_ = np.linalg.lstsq(columns, np.array([*first, *second]), rcond=None)
    found = block_drift([first, second])
    assert isinstance(found, BlockDrift)
    residual_sd = (rest[0] / (7 - 3)) ** 0.5
    reach = stats.t.ppf(0.975, 4) * residual_sd * np.linalg.inv(columns.T @ columns)[0, 0] ** 0.5
    assert found.slope.value == pytest.approx(fit[0])
    assert found.slope.high == pytest.approx(fit[0] + reach)
    assert found.residual_sd == pytest.approx(residual_sd)


def test_a_ramp_read_to_the_graduation_leaves_room_for_any_slope_that_reads_so():
    steps = np.arange(20)
    slopes = np.linspace(0.9, 1.1, 201)
    alike = [
        slope
        for slope in slopes
        for start in np.linspace(-0.5, 0.5, 101)
        if np.array_equal(np.round(start + slope * (steps - 9.5)), steps - 9.0)
    ]
    found = block_drift([list(steps * 0.01)], resolution=0.01)
    assert isinstance(found, BlockDrift)
    assert found.residual_sd == pytest.approx(0.01 / 12**0.5)  # variance of rounding: h^2 / 12
    assert min(alike) < 0.97
    assert max(alike) > 1.03
    assert 0.008 < found.slope.low < 0.01 * min(alike)
    assert 0.01 * max(alike) < found.slope.high < 0.012


@pytest.mark.parametrize("sigma", [0.05, 0.2, 0.5, 3.0])
def test_a_slope_of_rounded_settings_is_covered(sigma: float):
    rng, studies = np.random.default_rng(SEED), 1000
    covered = 0
    for _ in range(studies):
        slope, start = rng.uniform(0.2, 1.2), rng.uniform(-0.5, 0.5)
        sample = np.round(start + slope * np.arange(12) + rng.normal(0.0, sigma, 12))
        found = block_drift([list(sample)], resolution=1.0)
        assert isinstance(found, BlockDrift)
        covered += found.slope.low <= slope <= found.slope.high
    assert covered / studies >= 0.95 - 3.5 * (0.95 * 0.05 / studies) ** 0.5


def test_six_settings_are_the_fewest_that_can_show_a_drift():
    assert isinstance(block_drift([[1.0, 2.0, 3.0], [1.0, 2.0, 3.0]]), BlockDrift)
    with pytest.raises(NotEnough, match=Why.DRIFT_TOO_FEW):
        block_drift([[1.0, 2.0, 3.0, 4.0, 5.0]])


@pytest.mark.parametrize("pattern", [[1.0, -1.0] * 8, [1.0] * 8 + [-1.0] * 8])
def test_neighbours_too_like_or_too_unlike_are_both_unusual(pattern):
    found = block_neighbours([pattern])
    assert isinstance(found, Neighbours)
    assert found.unusual
    assert not Neighbours(value=0.1, expected=-0.1, band=0.3, n=40).unusual


def test_what_can_not_be_seen_says_so():
    assert isinstance(block_drift([[1.0] * 8]), NotYet)
    assert isinstance(block_neighbours([[1.0] * 12]), NotYet)
    assert isinstance(block_neighbours([[1.0, 2.0, 1.5]]), NotYet)
    with pytest.raises(NotEnough):
        block_drift([[1.0, 2.0], [3.0, 4.0]])
    with pytest.raises(NotEnough, match=Why.NOT_A_NUMBER):
        block_outliers([[1.0, float("nan"), 2.0]], most=1)


def test_drawing_ends_once_p_is_known_to_be_large():
    draws = iter([1.0] * 100)
    assert share_as_extreme(lambda: next(draws), 1.0, 1999) == (1.0, 20)
    assert share_as_extreme(lambda: 0.0, 1.0, 99) == (0.01, 99)
    some = iter([1.0] * 5 + [0.0] * 94)
    assert share_as_extreme(lambda: next(some), 1.0, 99) == (0.06, 99)
    assert list(some) == []  # all 99 were drawn
