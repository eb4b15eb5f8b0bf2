"""Verdicts on a tolerance claim: their rules, and how often they err (seeded simulation)."""

import math

import numpy as np
import pytest
from house import loaded_by
from scipy import optimize, stats
from scipy.special import ndtr

from hostctl.metrology.basis.estimate import Interval, NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.claim import Centre, Claim, SampleSpread, SpreadLimits
from hostctl.metrology.claims.datum_reach import chance_held, half_width_quantile
from hostctl.metrology.claims.decision import (
    chance_of_verdict,
    decide,
    decide_by_counting,
    further_trials,
    reach,
)
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.claims.tolerance import (
    half_width_holding,
    two_sided_factor,
)
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets

TEN = {"df": 9, "n": 10}
TWICE = {"looks": Looks(declared=2), "confidence": 0.90}  # 5 % now, and 5 % at the look after
Z = stats.norm.ppf(0.975)


def claim(centre=Centre.LONG_RUN_MEAN, tolerance=0.05, **changes):
    return Claim(tolerance=tolerance, centre=centre, **changes)


@pytest.mark.parametrize("centre", Centre)
@pytest.mark.parametrize(
    ("sd", "verdict"), [(0.01, Meets), (0.0255, CannotTellYet), (0.05, DoesNotMeet)]
)
def test_three_verdicts(centre, sd, verdict):
    assert isinstance(decide(claim(centre), SampleSpread(sd=sd, bias=0.005, **TEN)), verdict)


def test_about_the_long_run_mean_the_ends_are_the_chi_square_limits_of_sigma():
    """Oracle: scipy chi-square; 1.645 s is the one-sided 95 % limit at n = 10."""
    band = reach(claim(), SampleSpread(sd=0.02, **TEN))
    assert band.high == pytest.approx(Z * 0.02 * math.sqrt(9 / stats.chi2.ppf(0.05, 9)))
    assert band.low == pytest.approx(Z * 0.02 * math.sqrt(9 / stats.chi2.ppf(0.95, 9)))


def test_about_the_studys_mean_the_upper_end_is_the_published_factor():
    """k = 3.3934 for n = 10, 95 %/95 %: ISO 16269-6 (two_sided table in test_tolerance)."""
    band = reach(claim(Centre.STUDY_MEAN), SampleSpread(sd=1, **TEN))
    assert round(band.high, 3) == 3.393


@pytest.mark.parametrize("n", [2, 3, 10, 30])
def test_about_a_datum_the_upper_end_runs_from_two_sided_to_one_sided_factor(n):
    """Without bias the published two-sided factor, with a large one the published one-sided."""
    none, large = (
        reach(claim(Centre.DATUM), SampleSpread(sd=1, df=n - 1, n=n, bias=b)).high for b in (0, 300)
    )
    assert none == pytest.approx(two_sided_factor(0.95, 0.95, n, n - 1), rel=1e-6)
    one_sided = stats.nct.ppf(0.95, n - 1, stats.norm.ppf(0.95) * math.sqrt(n)) / math.sqrt(
        n
    )  # scipy
    assert large - 300 == pytest.approx(one_sided, rel=2e-3)


def test_bias_counts_whichever_way_it_points():
    up, down = (reach(claim(Centre.DATUM), SampleSpread(sd=1, bias=b, **TEN)) for b in (0.7, -0.7))
    assert up == down


def test_both_ends_err_in_the_risk_so_the_interval_is_at_twice_it():
    assert reach(claim(), SampleSpread(sd=0.02, **TEN)).confidence == pytest.approx(0.9)


def test_on_the_upper_end_exactly_the_claim_is_met():
    band = reach(claim(), SampleSpread(sd=0.02, **TEN))
    assert isinstance(decide(claim(tolerance=band.high), SampleSpread(sd=0.02, **TEN)), Meets)
    assert isinstance(
        decide(claim(tolerance=band.low), SampleSpread(sd=0.02, **TEN)), CannotTellYet
    )


def test_settings_all_alike_on_an_upper_bound_can_meet():
    """3 alike readings at 0.01 mm: σ below 0.0130 mm, one-sided 95 % (the project's convention)."""
    alike = SpreadLimits(
        sigma=Interval(low=-math.inf, high=0.0130, confidence=0.95), likely=0.0, n=3
    )
    assert isinstance(decide(claim(), alike), Meets)
    assert reach(claim(), alike).low == 0.0
    assert reach(claim(), alike).high == pytest.approx(Z * 0.0130)
    near = decide(claim(tolerance=0.02, **TWICE), alike)
    assert isinstance(near, CannotTellYet)
    assert near.further_trials > 0


def test_limits_too_loose_for_the_claim_are_refused():
    loose = SpreadLimits(
        sigma=Interval(low=0.01, high=0.02, confidence=0.90), likely=0.014, n=10, bias=0.0
    )
    assert isinstance(decide(claim(), loose), Meets)
    looser = Interval(low=0.01, high=0.02, confidence=0.89)
    with pytest.raises(ValueError, match=r"0\.9 confidence"):
        decide(claim(), SpreadLimits(sigma=looser, likely=0.014, n=10))
    with pytest.raises(ValueError, match=r"0\.95 confidence"):
        decide(claim(Centre.DATUM), loose)


def holding(offset: float, sigma: float) -> float:
    """Oracle: scipy: the h with P(-h <= X <= h) = 0.95."""
    law = stats.norm(offset, sigma)
    return float(optimize.brentq(lambda h: law.cdf(h) - law.cdf(-h) - 0.95, 0, 10, xtol=1e-14))


@pytest.mark.parametrize(("centre", "quantile", "off"), [
    (Centre.DATUM, 0.975, 0.01),  # half the risk to the mean, on the one side that counts
    (Centre.STUDY_MEAN, 0.9875, 0.0),  # on either side
])  # fmt: skip
def test_limits_from_elsewhere_take_the_worst_mean_within_its_own_limits(centre, quantile, off):
    """By the module's rule: risk/2 for the mean, risk/2 for σ, the worst pair; with scipy."""
    sigma = Interval(low=0.01, high=0.02, confidence=0.95)
    band = reach(claim(centre), SpreadLimits(sigma=sigma, likely=0.014, n=16, bias=-off))
    doubt = stats.norm.ppf(quantile) / math.sqrt(16)
    assert band.high == pytest.approx(holding(off + doubt * 0.02, 0.02), rel=1e-9)
    least = max(off - doubt * 0.01, 0.0)
    assert band.low == pytest.approx(holding(least, 0.01), rel=1e-9)


def test_an_unbounded_spread_never_meets():
    open_ended = SpreadLimits(
        sigma=Interval(low=0.001, high=math.inf, confidence=0.95), likely=0.002, n=2
    )
    assert isinstance(decide(claim(), open_ended), CannotTellYet)


def test_with_nothing_known_of_the_spread_no_number_of_trials_is_made_up():
    unknown = SpreadLimits(sigma=Interval(low=0.0, high=math.inf, confidence=0.95), likely=0.0, n=2)
    assert decide(claim(**TWICE), unknown).further_trials is None


def test_without_a_datum_an_absolute_claim_is_refused():
    with pytest.raises(NotEnough, match=Why.NO_DATUM):
        decide(claim(Centre.DATUM), SampleSpread(sd=0.01, **TEN))


def test_no_number_of_trials_decides_what_lies_on_the_line():
    on_the_line = decide(claim(**TWICE), SampleSpread(sd=0.05 / Z, **TEN))
    assert on_the_line.further_trials is None


def test_a_spread_of_nothing_is_judged_by_its_bias():
    still = SampleSpread(sd=0.0, bias=0.04, **TEN)
    assert isinstance(decide(claim(Centre.DATUM), still), Meets)
    assert isinstance(decide(claim(Centre.DATUM, 0.03), still), DoesNotMeet)


@pytest.mark.parametrize(
    ("inside", "n", "verdict"),
    [(59, 59, Meets), (58, 58, CannotTellYet), (58, 59, CannotTellYet), (5, 10, DoesNotMeet)],
)  # 0.95^59 < 0.05: the usual figure for 95 %/95 % (ISO 16269-6, from memory)
def test_a_bare_count_is_judged_by_exact_binomial_limits(inside, n, verdict):
    assert isinstance(decide_by_counting(claim(Centre.DATUM), inside, n), verdict)


def test_a_clean_count_too_short_says_how_many_are_left():
    assert decide_by_counting(claim(Centre.DATUM, **TWICE), 50, 50).further_trials == 9


@pytest.mark.parametrize(
    ("build", "error"),
    [
        (lambda: claim(tolerance=0), "above 0"),
        (lambda: claim(tolerance=math.nan), "above 0"),
        (lambda: claim(content=1.0), "content"),
        (lambda: claim(looks=Looks(number=2, declared=1)), "look"),
        (lambda: SampleSpread(sd=0.01, df=0, n=1), Why.TOO_FEW),
        (lambda: SampleSpread(sd=math.nan, **TEN), Why.NO_SPREAD_TO_JUDGE),
        (lambda: SpreadLimits(
            sigma=Interval(low=0, high=math.nan, confidence=0.95), likely=1, n=5), Why.NO_LIMITS),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_in_words(build, error):
    with pytest.raises(ValueError, match=error):
        build()


def test_judging_thirty_readings_needs_no_scipy():
    program = (
        "from hostctl.metrology.claims.claim import Centre, Claim, SampleSpread\n"
        "from hostctl.metrology.claims.decision import decide\n"
        "sample = SampleSpread(sd=0.02, df=29, n=30, bias=0)\n"
        "for centre in Centre:\n"
        "    decide(Claim(tolerance=0.05, centre=centre), sample)"
    )
    assert [name for name in loaded_by(program) if name.startswith("scipy")] == []


# How often the verdicts err. "False" puts the truth exactly on the limit, the worst case.


@pytest.mark.parametrize("n", [2, 3, 5, 10, 30])
def test_about_the_long_run_mean_each_verdict_errs_in_five_percent(n):
    rng = np.random.default_rng(n)
    s = np.sqrt(rng.chisquare(n - 1, 400_000) / (n - 1))
    band = reach(claim(), SampleSpread(sd=1, df=n - 1, n=n))
    assert (band.high * s <= Z).mean() == pytest.approx(0.05, abs=0.0015)
    assert (band.low * s > Z).mean() == pytest.approx(0.05, abs=0.0015)


@pytest.mark.parametrize("n", [3, 10, 30])
@pytest.mark.parametrize("tolerance", [1.0, 1.96, 2.3, 3.0])
def test_about_the_studys_mean_meets_is_false_in_at_most_five_percent(n, tolerance):
    rng = np.random.default_rng(n)
    mean = rng.standard_normal(200_000) / math.sqrt(n)
    s = np.sqrt(rng.chisquare(n - 1, 200_000) / (n - 1))
    band = reach(claim(Centre.STUDY_MEAN), SampleSpread(sd=1, df=n - 1, n=n))
    held = ndtr(mean + tolerance) - ndtr(mean - tolerance)
    assert ((band.high * s <= tolerance) & (held < 0.95)).mean() <= 0.0515
    assert ((band.low * s > tolerance) & (held >= 0.95)).mean() <= 0.0515


def held_by_bisection(tolerance, bias, s, n):
    """`chance_held` written anew, for many studies at once: least w by bisection on a grid of v."""
    v = np.linspace(-6, 6, 25)
    weights = np.exp(-v * v / 2) / np.exp(-v * v / 2).sum()
    low = np.full((len(s), len(v)), -8.0)
    high = np.full_like(low, 8.0)
    for _ in range(32):
        w = np.exp((low + high) / 2)
        centre, room = (bias / s)[:, None] * w + v / math.sqrt(n), (tolerance / s)[:, None] * w
        enough = ndtr(room - centre) - ndtr(-room - centre) >= 0.95
        low, high = np.where(enough, low, np.log(w)), np.where(enough, np.log(w), high)
    return (stats.chi2.sf((n - 1) * np.exp(2 * high), n - 1) * weights).sum(axis=1)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("n", "drift"), [(2, 0.0), (3, 0.0), (3, 1.0), (5, 3.0), (10, 0.3), (10, 3.0), (30, 1.0)]
)
def test_about_a_datum_each_verdict_errs_in_at_most_five_percent(n, drift):
    """8,000 studies a case; 0.0525 + 0.006 allows for their noise. Wider grid in datum_reach."""
    rng = np.random.default_rng([n, int(drift * 10)])
    tolerance, size = half_width_holding(0.95, drift, 1.0), 8000
    bias = np.abs(rng.standard_normal(size) / math.sqrt(n) + drift)
    s = np.sqrt(rng.chisquare(n - 1, size) / (n - 1))
    held = held_by_bisection(tolerance, bias, s, n)
    assert (held >= 0.95).mean() <= 0.0525 + 0.006
    assert (held <= 0.0125).mean() <= 0.0525 + 0.006
    sample = [
        chance_held(tolerance / si, content=0.95, bias=bi / si, n=n, df=n - 1)
        for si, bi in zip(s[:30], bias[:30], strict=True)
    ]
    usual = bias[:30] < tolerance
    assert np.array(sample)[usual] == pytest.approx(held[:30][usual], abs=5e-4)


def test_a_quantile_of_the_half_width_is_where_that_chance_is_held():
    h = half_width_quantile(0.3, content=0.9, bias=0.4, sd=2.0, n=7, df=12)
    assert chance_held(h / 2, content=0.9, bias=0.2, n=7, df=12) == pytest.approx(0.3, abs=1e-10)


@pytest.mark.parametrize(("n", "drift"), [(3, 0.0), (10, 0.0), (10, 1.0), (30, 0.3)])
def test_limits_from_elsewhere_err_in_at_most_five_percent_too(n, drift):
    """The limits here are chi-square's own 95 %, so that their own error is known."""
    rng = np.random.default_rng([n, int(drift * 10), 1])
    tolerance, size = half_width_holding(0.95, drift, 1.0), 2000
    s = np.sqrt(rng.chisquare(n - 1, size) / (n - 1))
    low, high = (s * math.sqrt((n - 1) / stats.chi2.ppf(q, n - 1)) for q in (0.975, 0.025))
    bias = rng.standard_normal(size) / math.sqrt(n) + drift
    bands = [
        reach(
            claim(Centre.DATUM),
            SpreadLimits(sigma=Interval(low=a, high=b, confidence=0.95), likely=c, n=n, bias=d),
        )
        for a, b, c, d in zip(low, high, s, bias, strict=True)
    ]
    assert np.mean([band.high <= tolerance for band in bands]) <= 0.05
    assert np.mean([band.low > tolerance for band in bands]) <= 0.05


@pytest.mark.parametrize("sigma", [0.012, 0.018, 0.035])
def test_the_chance_of_a_verdict_is_what_simulation_finds(sigma):
    rng = np.random.default_rng(8)
    s = sigma * np.sqrt(rng.chisquare(14, 200_000) / 14)
    band = reach(claim(), SampleSpread(sd=1, df=14, n=15))
    met, refuted = chance_of_verdict(claim(), sigma=sigma, n=15, df=14)
    assert met == pytest.approx((band.high * s <= 0.05).mean(), abs=0.005)
    assert refuted == pytest.approx((band.low * s > 0.05).mean(), abs=0.005)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sigma", "bias", "n"), [(0.015, 0.005, 20), (0.015, 0.02, 40), (0.03, 0.02, 30)]
)
def test_about_a_datum_the_chance_is_roughly_what_simulation_finds(sigma, bias, n):
    rng = np.random.default_rng(9)
    size = 4000
    found = np.abs(bias + sigma * rng.standard_normal(size) / math.sqrt(n))
    s = sigma * np.sqrt(rng.chisquare(n - 1, size) / (n - 1))
    held = held_by_bisection(0.05, found, s, n)
    met, refuted = chance_of_verdict(claim(Centre.DATUM), sigma=sigma, bias=bias, n=n, df=n - 1)
    assert met == pytest.approx((held >= 0.95).mean(), abs=0.09)
    assert refuted == pytest.approx((held <= 0.0125).mean(), abs=0.09)


def test_after_the_further_trials_a_verdict_comes_as_often_as_said():
    spread = SampleSpread(sd=0.02, **TEN)
    extra = further_trials(claim(), spread, power=0.8)
    chances = chance_of_verdict(claim(), sigma=0.02, n=10 + extra, df=9 + extra)
    fewer = chance_of_verdict(claim(), sigma=0.02, n=9 + extra, df=8 + extra)
    assert sum(chances) >= 0.8 > sum(fewer)


@pytest.mark.slow
@pytest.mark.parametrize(("alike", "wrong"), [(False, "meets"), (True, "does not meet")])
def test_of_several_blocks_the_worst_decides_at_the_stated_risk(alike, wrong):
    """Simulated, seed 6: five blocks of six about a datum; at the edge, a verdict either way is
    wrong in at most 5 % of studies, though the worst of five is picked. By scipy's quantiles.
    """
    sigma, rng, each, blocks = 0.01, np.random.default_rng(6), 6, 5
    edge = 0.05 + 1.644854 * sigma  # 95 % of a block at 0.05 lie within
    at = np.full(blocks, 0.05) if alike else np.array([0.05, 0.0, 0.01, -0.02, 0.02])
    tolerance = edge * (1 + 1e-6 if wrong == "does not meet" else 1 - 1e-6)
    df, studies, seen = blocks * (each - 1), 1500, 0
    for _ in range(studies):
        s = sigma * math.sqrt(rng.chisquare(df) / df)
        means = at + rng.normal(0.0, sigma / math.sqrt(each), blocks)
        low, high = (s * math.sqrt(df / stats.chi2.ppf(q, df)) for q in (0.975, 0.025))
        evidence = SpreadLimits(
            sigma=Interval(low=low, high=high, confidence=0.95),
            likely=s,
            n=each,
            bias=float(max(means, key=abs)),
            blocks=blocks,
        )
        band = reach(claim(Centre.DATUM), evidence)
        seen += tolerance >= band.high if wrong == "meets" else tolerance < band.low
    assert seen <= 0.05 * studies
