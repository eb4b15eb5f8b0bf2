"""Numbers of trials against published tables and scipy."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.planning import (
    MOST_TRIALS,
    chance_to_know_sd,
    chance_to_prove,
    chance_to_see_ratio,
    power_curve,
    precision_of_sd,
    seeing,
    smallest_ratio_seen,
    trials_to_know_sd,
    trials_to_prove,
)

DATA = Path(__file__).parent.parent / "data"
TABLE = list(csv.DictReader((DATA / "trials_vs_confidence.csv").read_text().splitlines()))


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row["n"])
def test_how_well_a_standard_deviation_is_known(row):
    """JCGM 100:2008 Table E.1 where it has the number; chi-square multipliers."""
    found = precision_of_sd(int(row["n"]))
    assert 100 * found.relative_sd == pytest.approx(float(row["rel_sd_of_s_percent"]), abs=0.051)
    assert found.low == pytest.approx(float(row["sigma_over_s_low95"]), abs=6e-4)
    assert found.high == pytest.approx(float(row["sigma_over_s_high95"]), abs=6e-4)


@pytest.mark.parametrize(
    "row", [r for r in TABLE if r["GUM_table_E1_percent"]], ids=lambda r: r["n"]
)
def test_the_guides_own_table_of_doubt_about_a_standard_deviation(row):
    assert round(100 * precision_of_sd(int(row["n"])).relative_sd) == int(
        row["GUM_table_E1_percent"]
    )


@pytest.mark.parametrize(
    ("within", "confidence"), [(0.5, 0.95), (0.2, 0.95), (0.1, 0.9), (0.05, 0.99)]
)
def test_trials_to_know_a_spread_are_the_fewest_that_do(within, confidence):
    """Oracle: scipy chi-square."""

    def chance(n):
        ends = (n - 1) * np.array([1 - within, 1 + within]) ** 2
        return np.diff(stats.chi2.cdf(ends, n - 1))[0]

    n = trials_to_know_sd(within, confidence)
    assert chance(n) >= confidence > chance(n - 1)
    assert chance_to_know_sd(n, within) == pytest.approx(chance(n), rel=1e-9)


@pytest.mark.parametrize(("n", "ratio"), [(20, 1.59), (10, 2.01)])
def test_the_smallest_ratio_that_shows(n, ratio):
    """√F(19, 19) at 0.975 = √2.53, common tables (from memory)."""
    assert round(smallest_ratio_seen(n), 2) == ratio


@pytest.mark.parametrize(("n", "of_100"), [(20, 84), (10, 50)])
def test_a_true_ratio_of_two_is_seen_so_often(n, of_100):
    """Oracle: scipy's F; the whole per cents are those the README states."""
    limit = stats.f.ppf(0.975, n - 1, n - 1)
    exact = stats.f.sf(limit / 4, n - 1, n - 1) + stats.f.cdf(1 / limit / 4, n - 1, n - 1)
    assert chance_to_see_ratio(n, 2) == pytest.approx(exact, rel=1e-9)
    assert round(100 * chance_to_see_ratio(n, 2)) == of_100


@pytest.mark.parametrize("n", [2, 5, 12, 40])
def test_the_chance_to_prove_a_spread_is_a_chi_square_probability(n):
    """Oracle: scipy: met where s times its one-sided 95 % factor times 1.96 is within."""
    wanted = 0.05 / (stats.norm.ppf(0.975) * math.sqrt((n - 1) / stats.chi2.ppf(0.05, n - 1)))
    exact = stats.chi2.cdf((n - 1) * (wanted / 0.015) ** 2, n - 1)
    assert chance_to_prove(Claim(tolerance=0.05), n, sigma=0.015) == pytest.approx(exact, rel=1e-9)


def test_power_of_the_ratio_test_is_what_simulation_finds():
    rng = np.random.default_rng(20)
    ratio = rng.chisquare(14, 400_000) / rng.chisquare(14, 400_000) * 1.8**2
    limit = stats.f.ppf(0.975, 14, 14)
    seen = ((ratio > limit) | (ratio < 1 / limit)).mean()
    assert chance_to_see_ratio(15, 1.8) == pytest.approx(seen, abs=0.003)


def test_a_ratio_and_its_inverse_need_the_same_trials():
    assert seeing(2).fewest(0.8, MOST_TRIALS) == seeing(0.5).fewest(0.8, MOST_TRIALS) == 19
    assert chance_to_see_ratio(18, 2) < 0.8 <= chance_to_see_ratio(19, 2)


@pytest.mark.parametrize("centre", Centre)
def test_trials_to_prove_a_claim_are_the_fewest_that_do(centre):
    claim = Claim(tolerance=0.05, centre=centre)
    n = trials_to_prove(claim, sigma=0.015, bias=0.005)
    before, after = (chance_to_prove(claim, m, sigma=0.015, bias=0.005) for m in (n - 1, n))
    assert before < 0.8 <= after


def test_a_false_claim_can_never_be_proven():
    answer = trials_to_prove(Claim(tolerance=0.05), sigma=0.03)
    assert isinstance(answer, NotYet)
    assert answer.reason.code is Why.NEVER_PROVEN


def test_a_spread_right_at_the_limit_asks_for_more_than_is_sensible():
    answer = trials_to_prove(Claim(tolerance=0.05), sigma=0.0255)
    assert isinstance(answer, NotYet)
    assert answer.needs_n == 100_000
    assert answer.reason.code is Why.TOO_NEAR_THE_LIMIT


def test_the_power_curve_rises_with_trials():
    curve = power_curve(lambda n: chance_to_see_ratio(n, 2), range(5, 30, 5))
    chances = [point.chance for point in curve]
    assert chances == sorted(chances)
    assert [point.n for point in curve] == [5, 10, 15, 20, 25]


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: precision_of_sd(1), Why.TOO_FEW),
        (lambda: smallest_ratio_seen(1), Why.TOO_FEW),
        (lambda: trials_to_know_sd(0), "between 0 and 1"),
        (lambda: trials_to_know_sd(math.nan), "between 0 and 1"),
        (lambda: seeing(1), "isn't 1"),
        (lambda: seeing(1.001).fewest(0.8, MOST_TRIALS), f"{Why.MORE_THAN} most=100000"),
    ],
)
def test_plans_that_make_no_sense_are_refused(call, error):
    with pytest.raises(ValueError, match=error):
        call()


def test_too_few_trials_are_told_from_a_wrong_call():
    with pytest.raises(NotEnough):
        precision_of_sd(1)
