"""Two spreads compared: the interval, the test and the equivalence are one computation."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.comparison.interaction import InHands, ratio_of_ratios
from hostctl.metrology.comparison.spread_ratio import spread_ratio
from hostctl.metrology.rounded.rounding import spread_evidence

DATA = Path(__file__).parents[1] / "data" / "spreads"
CERAMIC = json.loads((DATA / "ceramic_strength.json").read_text())
SEED = 17
RIG = [0, 1, 0, -1, 0, 0, 1, 0, -1, 0, 1, 0]


def evidence(*blocks, resolution=1.0):
    return spread_evidence([[float(v) for v in b] for b in blocks], resolution=resolution)


def drawn(sigma, n, seed, blocks=1):
    rng = np.random.default_rng([SEED, seed])
    return evidence(*(np.rint(rng.normal(rng.uniform(), sigma, n)) for _ in range(blocks)))


def batches():
    groups: dict[str, list[float]] = {}
    with (DATA / "ceramic_strength.csv").open() as file:
        for row in csv.DictReader(file):
            groups.setdefault(row["batch"], []).append(float(row["strength"]))
    return [spread_evidence([group], resolution=0.001) for group in groups.values()]


def test_two_ceramic_batches_have_the_published_f():
    # e-Handbook 1.3.5.9: F 1.123037 on 239 and 239, cdf 0.814808
    found = spread_ratio(*batches())
    assert found.value is not None
    assert found.value**2 == pytest.approx(1.123037, abs=1e-6)
    assert found.p_value == pytest.approx(2 * (1 - 0.814808), abs=5e-4)
    limits = CERAMIC["recomputed"]["ci95_variance_ratio"]
    assert [found.interval.low**2, found.interval.high**2] == pytest.approx(limits, rel=1e-4)
    assert not found.differs


@pytest.mark.parametrize(("n", "m"), [(5, 5), (12, 20), (40, 8)])
def test_far_above_a_resolution_it_is_the_f_interval(n, m):
    first, second = drawn(300.0, n, 1), drawn(150.0, m, 2)
    found = spread_ratio(first, second)
    tails = stats.f.ppf([0.975, 0.025], n - 1, m - 1)  # scipy; ISO 2854:1976, table G'
    expected = [found.value / math.sqrt(tail) for tail in tails]
    assert [found.interval.low, found.interval.high] == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize("compared", [1, 6])
@pytest.mark.parametrize("rig", [None, RIG])
def test_the_interval_leaves_out_1_exactly_where_the_test_says_so(compared, rig):
    out = evidence(rig) if rig else None
    for seed in range(25):
        rng = np.random.default_rng([SEED, seed])
        first = drawn(rng.uniform(0.2, 3.0), int(rng.integers(3, 15)), 2 * seed, 2)
        second = drawn(rng.uniform(0.2, 3.0), int(rng.integers(3, 15)), 2 * seed + 1, 2)
        found = spread_ratio(first, second, rig=out, compared=compared)
        outside = found.interval.low > 1.0 or found.interval.high < 1.0
        assert found.differs == (found.p_value < 0.05) == outside
        turned = spread_ratio(second, first, rig=out, compared=compared)
        assert turned.p_value == pytest.approx(found.p_value, abs=0.01)
        assert turned.differs == found.differs or abs(found.p_value - 0.05) < 0.01


def test_alike_readings_give_a_one_sided_statement():
    # one graduation against five: the alike one scatters less, by at least a stated factor
    alike, wide = evidence([0] * 12), evidence([-2, 1, 0, 2, -1, 2, -2, 0, 1, -1, 2, -2])
    found = spread_ratio(alike, wide)
    assert found.value is None
    assert (found.interval.low, found.differs) == (0.0, True)
    assert 0.1 < found.interval.high < 0.5
    turned = spread_ratio(wide, alike)
    assert math.isinf(turned.interval.high)
    assert turned.interval.low == pytest.approx(1.0 / found.interval.high, rel=5e-3)


def test_equal_spreads_are_as_good_once_there_is_enough():
    few = [drawn(2.0, 10, seed) for seed in (1, 2)]
    assert not spread_ratio(*few, margin=1.5).as_good
    many = [drawn(2.0, 150, seed) for seed in (1, 2)]
    found = spread_ratio(*many, margin=1.5)
    assert found.as_good
    assert not found.differs
    assert not spread_ratio(*many, margin=1.5, compared=10**6).as_good
    with pytest.raises(ValueError, match="above 1"):
        spread_ratio(*few, margin=1.0)


def test_a_rig_that_makes_up_both_hides_how_they_compare():
    # read together they are within the margin; without the rig nothing is shown of either
    first, second = drawn(10.0, 150, 1), drawn(10.1, 150, 2)
    assert spread_ratio(first, second).as_good
    found = spread_ratio(first, second, rig=drawn(9.9, 150, 3))
    assert not found.as_good
    assert found.rig_out


def test_more_pairs_make_a_wider_interval_and_a_larger_p():
    pair = drawn(3.0, 12, 1), drawn(1.0, 12, 2)
    alone, among = spread_ratio(*pair), spread_ratio(*pair, compared=6)
    assert among.p_value == pytest.approx(min(6 * alone.p_value, 1.0))
    assert among.interval.low < alone.interval.low
    assert among.interval.high > alone.interval.high
    assert among.interval.confidence == pytest.approx(1 - 0.05 / 6)


def hands(operator, method, baseline, n=80, seed=0):
    return InHands(operator, drawn(method, n, seed), drawn(baseline, n, seed + 1))


def test_as_good_in_practised_hands_not_in_new_ones_is_stated():
    practised, new = hands("practised", 10.0, 10.0), hands("new", 30.0, 10.0, seed=4)
    found = ratio_of_ratios(practised, new, margin=1.5)
    assert found.differs
    assert found.interval.high < 1.0
    assert found.value == pytest.approx(1 / 3, rel=0.4)


def test_the_same_in_all_hands_is_not_called_different():
    found = ratio_of_ratios(hands("a", 30.0, 10.0), hands("b", 30.0, 10.0, seed=4), margin=1.5)
    assert not found.differs
    assert 1.0 in found.interval
    few = ratio_of_ratios(hands("a", 30.0, 10.0, 5), hands("b", 30.0, 10.0, 5, 4), margin=1.5)
    assert not few.within_margin
    assert few.interval.high / few.interval.low > found.interval.high / found.interval.low


def test_far_above_a_resolution_a_ratio_of_ratios_is_that_of_four_chi_squares():
    # against two hundred thousand draws of the four chi-squares: numpy
    first, second = hands("a", 300.0, 200.0, 12), hands("b", 250.0, 240.0, 12, 6)
    found = ratio_of_ratios(first, second, margin=1.5)
    rng = np.random.default_rng(SEED)
    logs = [-0.5 * np.log(rng.chisquare(11, 200_000) / 11) for _ in range(4)]
    drawn_log = math.log(found.value) + logs[0] - logs[1] - logs[2] + logs[3]
    low, high = np.exp(np.quantile(drawn_log, [0.025, 0.975]))
    assert [found.interval.low, found.interval.high] == pytest.approx([low, high], rel=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("sigma", [0.4, 2.0])
def test_alike_methods_are_seldom_called_different(sigma):
    runs, alarms = 100, 0
    for seed in range(runs):
        pair = drawn(sigma, 10, 1000 + 2 * seed), drawn(sigma, 10, 1001 + 2 * seed)
        alarms += spread_ratio(*pair).differs
    assert alarms / runs <= 0.05 + 3 * (0.05 * 0.95 / runs) ** 0.5
