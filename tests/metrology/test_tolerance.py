"""Tolerance factors against published tables and general reference libraries."""

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.tolerance import (
    half_width_holding,
    howe_factor,
    proportion_interval,
    ratio_nodes,
    ratio_quantile,
    settings_for_extremes,
    two_sided_factor,
)

DATA = Path(__file__).parent.parent / "data"
TABLE = list(csv.DictReader((DATA / "normal_tolerance_factors.csv").read_text().splitlines()))
HANDBOOK = json.loads((DATA / "tolerance_interval.json").read_text())


@pytest.mark.parametrize("row", TABLE, ids=lambda r: f"{r['n']}-{r['content']}")
def test_the_table_of_factors(row):
    """36 entries as in a printed table (Berthouex and Brown, 21.1); the rest recomputed."""
    n, content, confidence = int(row["n"]), float(row["content"]), float(row["confidence"])
    two = two_sided_factor(content, confidence, n, n - 1)
    assert two == pytest.approx(float(row["k_two_sided_exact"]), rel=1e-8)
    assert howe_factor(content, confidence, n, n - 1) == pytest.approx(
        float(row["k_two_sided_howe"]), rel=1e-8
    )


def test_the_handbooks_wafer_example():
    """NIST/SEMATECH e-Handbook 7.2.6.3: n = 43, 90 % at 99 %."""
    given, published = HANDBOOK["inputs"], HANDBOOK["published"]
    case = (given["content"], given["confidence"], given["n"], given["n"] - 1)
    k = howe_factor(*case)
    assert round(k, 3) == published["k_two_sided_howe"]
    low, high = published["limits_two_sided"]
    assert given["mean"] - k * given["sd"] == pytest.approx(low, abs=1e-6)
    assert given["mean"] + k * given["sd"] == pytest.approx(high, abs=1e-5)
    assert two_sided_factor(*case) == pytest.approx(HANDBOOK["recomputed"]["k_two_sided_exact"])


@pytest.mark.parametrize(("n", "df"), [(5, 40), (12, 3), (3, 2.5), (4, math.inf), (math.inf, 6)])
def test_two_sided_factors_hold_what_they_say_when_df_is_not_n_minus_1(n, df):
    """Seeded simulation, 400,000 studies: the band holds the content in 95 % of them."""
    rng = np.random.default_rng(16269)
    k = two_sided_factor(0.9, 0.95, n, df)
    size = 400_000
    mean = rng.standard_normal(size) / math.sqrt(n)
    s = np.ones(size) if math.isinf(df) else np.sqrt(rng.chisquare(df, size) / df)
    held = stats.norm.cdf(mean + k * s) - stats.norm.cdf(mean - k * s)
    assert (held >= 0.9).mean() == pytest.approx(0.95, abs=0.0015)


@pytest.mark.parametrize("df", [1, 2, 9, 60, math.inf])
def test_the_ratio_of_s_to_sigma_has_the_moments_of_its_law(df):
    """Mean c4 as in control-chart tables (0.7979 at n = 2, 0.9727 at 10), mean square 1; scipy."""
    nodes = ratio_nodes(df)
    c4 = 1.0 if math.isinf(df) else stats.chi(df).mean() / math.sqrt(df)
    assert math.fsum(weight for _, weight in nodes) == pytest.approx(1, abs=1e-14)
    assert math.fsum(w * weight for w, weight in nodes) == pytest.approx(c4, rel=1e-10)
    assert math.fsum(w * w * weight for w, weight in nodes) == pytest.approx(1, rel=1e-10)
    known = 1.0 if math.isinf(df) else math.sqrt(stats.chi2.ppf(0.1, df) / df)
    assert ratio_quantile(0.1, df) == pytest.approx(known, rel=1e-11)


def test_with_mean_and_spread_known_the_factor_is_the_normal_quantile():
    exact = stats.norm.ppf(0.975)
    assert two_sided_factor(0.95, 0.9, math.inf, math.inf) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(("offset", "sigma"), [(0, 1), (0.3, 1), (2, 1), (40, 0.1), (-0.02, 0.01)])
def test_the_half_width_holds_the_content_about_an_offset(offset, sigma):
    h = half_width_holding(0.95, offset, sigma)
    law = stats.norm(offset, sigma)
    assert law.cdf(h) - law.cdf(-h) == pytest.approx(0.95, abs=1e-13)


def test_without_spread_the_half_width_is_the_offset():
    assert half_width_holding(0.95, -0.03, 0) == 0.03


@pytest.mark.parametrize(
    ("content", "confidence", "two_sided", "n"),
    [
        (0.95, 0.95, True, 93),  # ISO 16269-6 annex (from memory)
        (0.95, 0.95, False, 59),
        (0.99, 0.95, True, 473),
        (0.99, 0.99, False, 459),
        (0.90, 0.95, True, 46),
        (0.90, 0.90, False, 22),
    ],
)
def test_settings_needed_without_assuming_a_distribution(content, confidence, two_sided, n):
    assert settings_for_extremes(content, confidence, two_sided=two_sided) == n


@pytest.mark.parametrize(("inside", "n"), [(0, 10), (10, 10), (7, 10), (59, 59), (950, 1000)])
def test_share_inside_has_exact_binomial_limits(inside, n):
    """Oracle: scipy.stats.binomtest, exact method."""
    share = proportion_interval(inside, n, 0.95)
    expected = stats.binomtest(inside, n).proportion_ci(0.95, method="exact")
    assert (share.low, share.high) == pytest.approx((expected.low, expected.high), rel=1e-9)


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: two_sided_factor(0.95, 0.95, 0, 1), Why.NO_FREEDOM),
        (lambda: two_sided_factor(0.95, 0.95, 1, 0), Why.NO_FREEDOM),
        (lambda: two_sided_factor(0.95, 0.95, math.nan, 1), Why.NO_FREEDOM),
        (lambda: two_sided_factor(1, 0.95, 3, 2), "inside"),
        (lambda: howe_factor(0.95, 0, 3, 2), "inside"),
        (lambda: proportion_interval(3, 2, 0.95), "from 0 to n"),
        (lambda: proportion_interval(0, 0, 0.95), "from 0 to n"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(call, error):
    with pytest.raises(ValueError, match=error):
        call()


def test_not_enough_is_told_from_a_wrong_call():
    with pytest.raises(NotEnough):
        two_sided_factor(0.95, 0.95, 1, 0)
