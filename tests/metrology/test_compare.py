"""Methods and operators compared: spreads, means, equivalence."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.significance import Significance, holm
from hostctl.metrology.comparison.equivalence import (
    bias,
    mean_difference,
    mean_equivalence,
    welch_test,
)
from hostctl.metrology.comparison.spread_permutation import (
    Block,
    median_distances,
    spread_permutation_test,
)
from hostctl.metrology.comparison.spread_ratio import (
    sd_equivalence,
    sd_ratio,
    sd_ratio_test,
)
from hostctl.metrology.comparison.spread_tests import brown_forsythe
from hostctl.metrology.spread.rig import Spread

DATA = Path(__file__).parents[1] / "data" / "spreads"
WAVES = json.loads((DATA / "brown_forsythe_four_samples.json").read_text())
GEAR = json.loads((DATA / "gear.json").read_text())
CERAMIC = json.loads((DATA / "ceramic_strength.json").read_text())
SLEEP = json.loads((DATA / "tost_sleep.json").read_text())
SEED = 17


def grouped(name: str, label: str, value: str) -> list[list[float]]:
    groups: dict[str, list[float]] = {}
    with (DATA / name).open() as file:
        for row in csv.DictReader(file):
            groups.setdefault(row[label], []).append(float(row[value]))
    return list(groups.values())


GEARS = grouped("gear.csv", "batch", "diameter")
STRENGTHS = grouped("ceramic_strength.csv", "batch", "strength")
SLEEPERS = SLEEP["data"]["group1"], SLEEP["data"]["group2"]


@pytest.mark.parametrize(
    ("groups", "statistic", "published", "places"),
    [
        # four unequal samples: documentation of a general data-analysis program
        (WAVES["data"], WAVES["recomputed"]["brown_forsythe"][0], 1.11643, 5e-6),
        # GEAR: e-Handbook 1.3.5.10 (from memory; six digits of single precision)
        (GEARS, GEAR["recomputed"]["brown_forsythe"]["W"], 1.70591, 1e-5),
    ],
)
def test_published_tests_of_spread(groups, statistic, published, places):
    result = brown_forsythe(groups)
    assert result.statistic == pytest.approx(statistic, rel=1e-9)
    assert result.statistic == pytest.approx(published, abs=places)


def test_two_ceramic_batches_have_the_published_f():
    # e-Handbook 1.3.5.9: F 1.123037 on 239 and 239, cdf 0.814808
    first, second = (Spread(s=float(np.std(s, ddof=1)), df=len(s) - 1) for s in STRENGTHS)
    result = sd_ratio_test(first, second)
    assert result.statistic == pytest.approx(1.123037, abs=1e-6)  # cut
    assert result.df == (239, 239)
    assert result.p_value == pytest.approx(2 * (1 - 0.814808), abs=2e-6)
    ratio = sd_ratio(first, second)
    limits = CERAMIC["recomputed"]["ci95_variance_ratio"]
    assert (ratio.low**2, ratio.high**2) == pytest.approx(limits, rel=1e-9)


def test_welch_on_students_sleep_data():
    result = welch_test(*SLEEPERS)
    recomputed = SLEEP["recomputed"]
    assert result.statistic == pytest.approx(-1.861, abs=5e-4)
    assert result.df[0] == pytest.approx(17.78, abs=5e-3)
    assert result.p_value == pytest.approx(recomputed["p"], rel=1e-9)
    difference = mean_difference(*SLEEPERS, confidence=0.9)
    assert (difference.low, difference.high) == pytest.approx(tuple(recomputed["ci90"]), rel=1e-9)


def test_students_paired_test_on_his_own_sleep_data():
    # the same source: paired t -4.0621, the drugs given to the same ten people
    differences = [one - other for one, other in zip(*SLEEPERS, strict=True)]
    result = welch_test(differences, 0.0)
    assert result.statistic == pytest.approx(-4.0621, abs=5e-5)
    assert (result.df, result.n, result.how) == ((9,), 10, "Student's t test, two-sided")
    assert result.source.startswith("Student 1908")


def test_two_one_sided_tests_on_students_sleep_data():
    # bounds +/-0.5: p 0.890 and 0.012 (introduction of an equivalence package, from memory)
    result = mean_equivalence(*SLEEPERS, margin=0.5)
    assert (result.p_low, result.p_high) == pytest.approx((0.890, 0.012), abs=5e-4)
    assert not result.equivalent
    assert result.difference.interval.confidence == pytest.approx(0.9)


@pytest.mark.parametrize("margin", [3.0, 3.1])
def test_equivalence_is_the_interval_within_the_margin(margin):
    # the 90 % interval reaches to -3.05338 (same source, recomputed)
    assert mean_equivalence(*SLEEPERS, margin=margin).equivalent is (margin > 3.05338)


def test_equal_spreads_are_equivalent_once_there_is_enough():
    few, many = Spread(s=1.0, df=9), Spread(s=1.0, df=60)
    assert not sd_equivalence(few, few, margin=1.5).equivalent
    result = sd_equivalence(many, many, margin=1.5)
    assert result.equivalent
    assert result.low < result.difference.low < 1.0 < result.difference.high < result.high


def test_bias_against_a_datum():
    # by hand: mean 0.02, s 0.01, n 4; t(0.975; 3) = 3.1824 (published t tables)
    result = bias([0.01, 0.02, 0.02, 0.03], truth=0.0)
    assert result.value == pytest.approx(0.02)
    s = (0.0002 / 3) ** 0.5
    assert result.high == pytest.approx(0.02 + 3.182446 * s / 2, rel=1e-6)
    assert isinstance(bias([0.02, 0.02, 0.02], truth=0.0), NotYet)
    assert bias([0.01, 0.02, 0.02, 0.03], truth=0.5).value == pytest.approx(-0.48)


def test_holm_steps_down():
    # by hand, smallest times 4, next times 3, ... never falling
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([]) == []
    assert holm([0.7, 0.6, 0.0]) == [1.0, 1.0, 0.0]
    assert holm([1.0]) == [1.0]
    with pytest.raises(ValueError, match="between 0 and 1"):
        holm([0.5, 1.01])
    with pytest.raises(ValueError, match="between 0 and 1"):
        holm([0.5, float("nan")])


def blocks(rng: np.random.Generator, paper: float, light: float, n: int = 10) -> list[Block]:
    """Rounded readings of two methods at four points, whose scatter differs by point."""
    return [
        Block(method=method, stratum=point, values=np.round(rng.normal(rng.uniform(), s, n)))
        for point in range(4)
        for method, s in (("paper", paper), ("light", light))
    ]


def test_the_structural_zero_is_left_out():
    assert median_distances([3.0, 1.0, 2.0, 2.0, 7.0]).size == 4
    assert median_distances([3.0, 1.0, 2.0, 2.0]).size == 4


def test_a_larger_scatter_is_seen_through_the_rounding():
    rng = np.random.default_rng(SEED)
    assert spread_permutation_test(blocks(rng, 1.0, 0.3), rng, 499).p_value < 0.01


@pytest.mark.slow
@pytest.mark.parametrize(("n", "sigma"), [(5, 1.0), (10, 0.3)])
def test_alike_methods_are_seldom_called_different(n, sigma):
    rng = np.random.default_rng([SEED, n])
    runs = 200
    results = [spread_permutation_test(blocks(rng, sigma, sigma, n), rng, 99) for _ in range(runs)]
    alarms = sum(r.p_value <= 0.05 for r in results if isinstance(r, Significance))
    assert alarms / runs <= 0.05 + 3 * 0.0154  # three standard errors


ALIKE = [0.1, 0.1, 0.1, 0.1, 0.1, 0.1]


def test_constant_readings_get_a_reason():
    zero, one = Spread(s=0.0, df=5), Spread(s=1.0, df=5)
    rng = np.random.default_rng(SEED)
    alike = [Block(method=method, stratum=0, values=ALIKE) for method in "ab"]
    results = [
        sd_ratio(zero, one),
        sd_ratio_test(one, zero),
        sd_equivalence(zero, one, margin=2.0),
        brown_forsythe([ALIKE, ALIKE]),
        welch_test(ALIKE, ALIKE),
        spread_permutation_test(alike, rng),
    ]
    assert all(isinstance(result, NotYet) for result in results)


@pytest.mark.parametrize("bad", [[], [1.0], [1.0, 2.0, 3.0, 4.0, float("nan")]])
@pytest.mark.parametrize(
    "function",
    [
        lambda y: brown_forsythe([ALIKE, y]),
        lambda y: welch_test(y, ALIKE),
        lambda y: mean_equivalence(ALIKE, y, margin=1.0),
        lambda y: bias(y, truth=0.0),
        lambda y: spread_permutation_test(
            [Block(method=0, stratum=0, values=y)], np.random.default_rng(SEED)
        ),
    ],
)
def test_what_cannot_be_compared_is_refused(function, bad):
    with pytest.raises(NotEnough):
        function(bad)


def test_margins_must_make_sense():
    with pytest.raises(ValueError, match="above 1"):
        sd_equivalence(Spread(s=1.0, df=5), Spread(s=1.0, df=5), margin=1.0)
    with pytest.raises(ValueError, match="above 0"):
        mean_equivalence(ALIKE, ALIKE, margin=0.0)
