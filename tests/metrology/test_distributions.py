"""The distributions against scipy.special, mpmath and printed tables."""

import csv
import math
from pathlib import Path

import mpmath
import pytest
from scipy import special

from hostctl.metrology.basis import distributions as d
from hostctl.metrology.basis.incomplete_functions import (
    beta_factor,
    beta_tails,
    gamma_factor,
    gamma_tails,
)

DATA = Path(__file__).parents[1] / "data"
DFS = [0.5, 1.0, 2.0, 3.7, 10.0, 29.0, 400.0, 1e5, 1e6]
PS = [1e-9, 1e-4, 0.025, 0.3, 0.5, 0.8, 0.975, 0.9999]
TABLE_T = [
    (float(row["df"]), float(column[2:]), float(value))
    for row in csv.DictReader((DATA / "student_t.csv").read_text(encoding="utf-8").splitlines())
    for column, value in row.items()
    if column != "df"
]


def close(value, rel=1e-12):
    return pytest.approx(float(value), rel=rel, abs=1e-300)


@pytest.mark.parametrize("p", PS)
def test_normal_matches_scipy(p):
    z = d.normal_quantile(p)
    assert z == pytest.approx(special.ndtri(p), rel=1e-13, abs=1e-15)
    assert d.normal_cdf(z) == close(special.ndtr(z))
    assert d.normal_sf(z) == close(special.ndtr(-z))


@pytest.mark.parametrize("df", DFS)
@pytest.mark.parametrize("p", PS)
def test_chi_square_matches_scipy(p, df):
    x = d.chi_square_quantile(p, df)
    assert x == close(2.0 * special.gammaincinv(df / 2, p))
    assert d.chi_square_cdf(1.1 * x, df) == close(special.gammainc(df / 2, 0.55 * x))
    assert d.chi_square_sf(1.1 * x, df) == close(special.gammaincc(df / 2, 0.55 * x), rel=1e-10)


@pytest.mark.parametrize("df", DFS)
@pytest.mark.parametrize("p", PS)
def test_student_t_matches_scipy(p, df):
    t = d.student_t_quantile(p, df)
    assert t == pytest.approx(special.stdtrit(df, p), rel=1e-11, abs=1e-15)
    assert d.student_t_cdf(t, df) == close(p)
    assert d.student_t_sf(t, df) == close(1.0 - p)


@pytest.mark.parametrize(("df", "p", "t"), TABLE_T)
def test_student_t_matches_the_printed_table(df, p, t):
    assert d.student_t_quantile(p, df) == pytest.approx(t, rel=1e-9)


# scipy's own beta loses digits at a million degrees of freedom, so its quantile is held to 1e-10;
# the round trip shows the rest.
@pytest.mark.parametrize("df1", DFS)
@pytest.mark.parametrize("df2", DFS)
@pytest.mark.parametrize("p", [1e-4, 0.025, 0.5, 0.975])
def test_f_matches_scipy(p, df1, df2):
    x = d.f_quantile(p, df1, df2)
    assert x == close(special.fdtri(df1, df2, p), rel=1e-10)
    assert d.f_sf(x, df1, df2) == close(1.0 - p, rel=1e-11)


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (2.0, 9.0), (40.0, 3.0), (5.0, 5e5)])
@pytest.mark.parametrize("p", PS)
def test_beta_matches_mpmath(p, a, b):
    x = d.beta_quantile(p, a, b)
    with mpmath.workdps(30):
        truth = mpmath.betainc(a, b, 0, mpmath.mpf(x), regularized=True)
    assert d.beta_sf(x, a, b) == close(1.0 - truth)
    assert truth == pytest.approx(p, rel=1e-10)


@pytest.mark.parametrize(("successes", "trials", "p"), [(0, 10, 0.3), (7, 10, 0.3), (58, 59, 0.95)])
def test_binomial_matches_its_sum(successes, trials, p):
    below = math.fsum(
        math.comb(trials, k) * p**k * (1 - p) ** (trials - k) for k in range(successes + 1)
    )
    assert d.binomial_cdf(successes, trials, p) == close(below)


@pytest.mark.parametrize("x", [1e-8, 0.3, 1.0, 1.7, 8.0, 60.0])
@pytest.mark.parametrize("a", [0.25, 1.0, 3.5, 12.0, 40.0])
def test_the_incomplete_gamma_function_is_the_reference_librarys(a, x):
    """scipy.special gammainc and gammaincc; the factor before them by mpmath."""
    below, above = gamma_tails(a, x)
    assert below == close(special.gammainc(a, x), rel=1e-11)
    assert above == close(special.gammaincc(a, x), rel=1e-10)
    with mpmath.workdps(30):
        exact = mpmath.mpf(x) ** a * mpmath.exp(-x) / mpmath.gamma(a)
    assert gamma_factor(a, x) == close(exact, rel=1e-12)


@pytest.mark.parametrize("x", [1e-8, 0.2, 0.5, 0.93])
@pytest.mark.parametrize(("a", "b"), [(0.5, 0.5), (2.0, 7.5), (30.0, 4.0)])
def test_the_incomplete_beta_function_is_the_reference_librarys(a, b, x):
    """scipy.special betainc, either way round; the factor before it by mpmath."""
    below, above = beta_tails(a, b, x, 1.0 - x)
    assert below == close(special.betainc(a, b, x), rel=1e-10)
    assert above == close(special.betainc(b, a, 1.0 - x), rel=1e-10)
    with mpmath.workdps(30):
        exact = mpmath.mpf(x) ** a * (1 - mpmath.mpf(x)) ** b / mpmath.beta(a, b)
    assert beta_factor(a, b, x, 1.0 - x) == close(exact, rel=1e-12)


def test_ends_are_exact():
    assert d.student_t_quantile(0.975, math.inf) == d.normal_quantile(0.975)
    assert d.chi_square_quantile(0.0, 3) == 0.0
    assert d.f_quantile(1.0, 3, 4) == math.inf
    assert d.student_t_cdf(-math.inf, 3) == 0.0
    assert d.binomial_cdf(5, 5, 0.5) == 1.0
    assert d.binomial_cdf(-1, 5, 0.5) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: d.chi_square_cdf(1.0, 0.0),
        lambda: d.chi_square_quantile(1.5, 3.0),
        lambda: d.chi_square_quantile(math.nan, 3.0),
        lambda: d.f_sf(math.nan, 1.0, 1.0),
        lambda: d.student_t_quantile(0.5, math.nan),
        lambda: d.beta_sf(math.nan, 1.0, 1.0),
    ],
)
def test_outside_the_domain_is_refused(call):
    with pytest.raises(ValueError, match=r"must|not a number"):
        call()
