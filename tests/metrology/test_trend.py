"""Drift, order and warm-up."""

import csv
import itertools
import json
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.ranks import rises_less_falls
from hostctl.metrology.oddities.serial_order import lag_1_autocorrelation, runs_about_median
from hostctl.metrology.oddities.trend import line_trend, mann_kendall, sen_slope
from hostctl.metrology.oddities.warm_up import warm_up

DATA = Path(__file__).parents[1] / "data" / "serial_order"
BEAM = json.loads((DATA / "runs_and_autocorrelation.json").read_text())
with (DATA / "Lew.csv").open() as file:
    DEFLECTIONS = [float(row[0]) for row in list(csv.reader(file))[1:]]
SEED = 11


def rounded_walk(n: int, seed: int) -> np.ndarray:
    return np.round(np.random.default_rng(seed).normal(size=n))


@pytest.mark.parametrize(("n", "seed"), [(5, 1), (40, 2), (333, 3)])
def test_pairs_are_counted_without_looking_at_each(n, seed):
    y = rounded_walk(n, seed)
    slow = sum(int(np.sign(b - a)) for a, b in itertools.combinations(y, 2))
    assert rises_less_falls(y) == slow


@pytest.mark.parametrize("n", [4, 7, 12, 30])
def test_mann_kendall_without_ties_is_kendalls_exact_test(n):
    y = np.random.default_rng(n).permutation(n)
    oracle = stats.kendalltau(np.arange(n), y, method="exact")  # scipy
    assert mann_kendall(y).p_value == pytest.approx(oracle.pvalue, rel=1e-9)


def test_mann_kendall_corrects_for_ties_and_continuity():
    # 1 2 2 3 3 3 4 5 by hand: 28 pairs less 1 + 3 tied; Var = (8*7*21 - 2*1*9 - 3*2*11) / 18
    result = mann_kendall([1.0, 2.0, 2.0, 3.0, 3.0, 3.0, 4.0, 5.0])
    z = (24 - 1) / ((1176 - 18 - 66) / 18) ** 0.5
    assert result.statistic == 24
    assert result.p_value == pytest.approx(2 * stats.norm.sf(z), rel=1e-9)


def test_mann_kendall_of_a_million_rounded_readings():
    result = mann_kendall(rounded_walk(1_000_000, SEED))
    assert result.p_value > 1e-3


def test_the_slope_has_the_t_interval():
    # JCGM 100:2008, H.3: slope 0.00218 per degree, u 0.00067, n 11 (data from memory)
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    trend = line_trend(t, b)
    oracle = stats.linregress(t, b)
    assert trend.slope.value == pytest.approx(0.00218, abs=5e-6)
    assert trend.residual_sd == pytest.approx(0.0035, abs=5e-5)
    assert trend.p_value == pytest.approx(oracle.pvalue, rel=1e-9)
    reach = stats.t.ppf(0.975, 9) * oracle.stderr
    assert trend.slope.high - trend.slope.value == pytest.approx(reach, rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_sens_slope_is_the_one_of_the_reference_library(seed):
    rng = np.random.default_rng(seed)
    x, y = np.arange(25.0), rng.normal(size=25) + 0.05 * np.arange(25)
    oracle = stats.theilslopes(y, x)
    got = sen_slope(x, y)
    assert got.value == pytest.approx(oracle.slope)
    assert got.low <= oracle.low_slope
    assert got.high >= oracle.high_slope
    # Sen 1968: the slopes of rank (N - C) / 2 and (N + C) / 2 + 1, C = z sd(S), rounded outwards
    slopes = sorted((y[j] - y[i]) / (j - i) for i, j in itertools.combinations(range(25), 2))
    reach = stats.norm.ppf(0.975) * (25 * 24 * 55 / 18) ** 0.5
    low, high = (300 - reach) / 2, (300 + reach) / 2 + 1
    assert got.low == pytest.approx(slopes[int(np.floor(low)) - 1])
    assert got.high == pytest.approx(slopes[int(np.ceil(high)) - 1])


def test_four_readings_leave_the_rank_slope_open_at_both_ends():
    got = sen_slope([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 1.5, 4.0])
    assert (got.low, got.high) == (-np.inf, np.inf)


def test_sens_slope_of_very_many_is_thinned_and_says_so():
    n = 50_000
    got = sen_slope(np.arange(n), 2.0 * np.arange(n))
    assert got.value == 2.0
    assert "every 25th" in got.how


def test_beam_deflections_alternate():
    # e-Handbook 1.3.5.13: Z 2.6938; 1.3.5.12: lag 1 -0.307, band 0.139 (from memory; lag 1 StRD)
    runs = runs_about_median(DEFLECTIONS)
    assert runs.statistic == pytest.approx(BEAM["published"]["runs"]["Z"], abs=5e-5)
    assert runs.p_value < 0.01
    lag = lag_1_autocorrelation(DEFLECTIONS)
    assert lag.value == pytest.approx(-0.307304800605679, rel=1e-13)  # NIST StRD Lew
    assert lag.band == pytest.approx(0.139, abs=5e-4)
    assert lag.unusual


def test_the_law_of_runs_is_that_of_all_orders():
    # four above and four below: 70 orders, 2 of them in 2 runs, 2 in 8 (counted by hand)
    assert runs_about_median([1, 1, 1, 1, 2, 2, 2, 2]).p_value == pytest.approx(2 * 2 / 70)
    assert runs_about_median([1, 2, 1, 2, 1, 2, 1, 2]).p_value == pytest.approx(2 * 2 / 70)


def share_of_orders(values: np.ndarray) -> float:
    """How rare the first few of nine are, over every choice of the first four, counted out."""
    scales = 1.0 / np.sqrt(np.arange(1, 5) * np.arange(8, 4, -1))
    orders = np.array(list(itertools.permutations(values - values.mean(), 4)))
    found = np.abs(orders.cumsum(axis=1) * scales).max(axis=1)
    return float(np.mean(found >= found[0] * (1 - 1e-12)))  # the first is the order as it stands


@pytest.mark.parametrize(
    ("sample", "differs_in"),
    [
        ([9.0, 7.0, 8.5, 1.0, 2.0, 0.5, 1.5, 3.0, 2.5], "spread"),
        ([4.0, 3.9, 4.1, 1.0, 2.9, 1.9, 3.0, 1.1, 2.0], "level"),
    ],
)
def test_the_p_value_of_a_warm_up_is_that_of_all_orders(sample, differs_in):
    """By exact reasoning; the simulated share within three standard errors."""
    values = np.array(sample)
    level, spread = share_of_orders(values), share_of_orders(np.abs(values - np.median(values)))
    least = min(level, spread)
    found = warm_up(sample, np.random.default_rng(SEED), shuffles=9999)
    assert found.differs_in == differs_in == ("level" if level < spread else "spread")
    assert found.p_value / 2 == pytest.approx(least, abs=3 * (least / 10_000) ** 0.5 + 1e-4)


def test_too_few_on_one_side_of_the_median_tell_no_runs():
    assert isinstance(runs_about_median([0, 0, 0, 1, 2, 0]), NotYet)


def test_neighbours_within_the_band_are_not_unusual():
    found = lag_1_autocorrelation([3.0, 1.0, 2.0, 5.0, 2.0, 4.0, 1.0, 3.0, 4.0, 2.0])
    assert abs(found.value - found.expected) < found.band
    assert not found.unusual


@pytest.mark.parametrize("signs", ["HHHHHLLL", "LHHHHHLL", "HLHLHHHL", "HLHLHLHH", "LHHLHHLH"])
def test_the_law_of_runs_of_uneven_sides_is_counted_out(signs):
    """By exact reasoning: all 56 orders of five above and three below; ties to the median pass."""
    high, low = signs.count("H"), signs.count("L")

    def runs(order: str) -> int:
        return 1 + sum(a != b for a, b in itertools.pairwise(order))

    orders = [
        "".join("L" if place in lows else "H" for place in range(8))
        for lows in itertools.combinations(range(8), 3)
    ]
    few, many = (
        sum(by * runs(order) <= by * runs(signs) for order in orders) / 56 for by in (1, -1)
    )
    readings = [{"H": 2.0, "L": 0.0}[sign] for sign in signs]
    found = runs_about_median([1.0, 1.0, *readings[:3], 1.0, *readings[3:], 1.0])
    assert (high, low, found.n) == (5, 3, 8)
    assert found.p_value == pytest.approx(min(1.0, 2 * min(few, many)))


def test_a_warm_up_in_level_is_seen_and_named():
    rng = np.random.default_rng(SEED)
    readings = np.round(rng.normal(0.0, 1.0, 25) + np.where(np.arange(25) < 4, 5.0, 0.0))
    found = warm_up(readings, rng)
    assert (found.trials, found.differs_in) == (4, "level")
    assert found.says == "warm-up: the first 4 trials of 25 differ from the rest in level"


def test_a_warm_up_in_spread_is_seen_and_named():
    rng = np.random.default_rng(SEED)
    signs = np.where(np.arange(40) % 2, 1.0, -1.0)
    readings = rng.normal(0.0, 1.0, 40) + signs * np.where(np.arange(40) < 4, 8.0, 0.0)
    found = warm_up(readings, rng)
    assert (found.trials, found.differs_in) == (4, "spread")


@pytest.mark.slow
@pytest.mark.parametrize(("n", "sigma"), [(10, 0.3), (50, 2.0)])
def test_warm_up_is_seldom_seen_where_there_is_none(n, sigma):
    rng = np.random.default_rng([SEED, n])
    blocks = [np.round(rng.normal(rng.uniform(), sigma, n)) for _ in range(250)]
    found = [warm_up(block, rng, shuffles=99) for block in blocks]
    alarms = sum(0 if isinstance(f, NotYet) else f.trials > 0 for f in found)
    assert alarms / len(found) <= 0.05 + 3 * 0.0138  # three standard errors


def test_a_million_readings_can_be_searched_for_a_warm_up():
    found = warm_up(rounded_walk(1_000_000, SEED), np.random.default_rng(SEED), shuffles=99)
    assert found.trials == 0


CONSTANT = [0.1] * 12


@pytest.mark.parametrize(
    "test",
    [
        mann_kendall,
        lag_1_autocorrelation,
        runs_about_median,
        lambda y: warm_up(y, np.random.default_rng(SEED)),
        lambda y: line_trend(np.arange(len(y)), y),
    ],
)
def test_constant_readings_get_a_reason_and_bad_ones_are_refused(test):
    assert isinstance(test(CONSTANT), NotYet)
    for bad in ([], [1.0], [*CONSTANT, np.nan], [*CONSTANT, -np.inf]):
        with pytest.raises(NotEnough):
            test(bad)


def test_a_constant_rank_slope_is_zero():
    assert sen_slope(np.arange(12), CONSTANT).value == 0.0
    assert isinstance(sen_slope(np.zeros(5), np.arange(5)), NotYet)
    with pytest.raises(NotEnough, match="differ in number"):
        sen_slope(np.arange(5), np.arange(6))
