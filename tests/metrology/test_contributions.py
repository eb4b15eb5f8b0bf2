"""Typed contributions and the laws of their errors."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import integrate, stats

from hostctl.metrology.uncertainty.contributions import (
    ContactForce,
    IndicatorError,
    Resolution,
    RigRepeatability,
    ThermalGrowth,
    TiltedStem,
    doubt_df,
)
from hostctl.metrology.uncertainty.laws import (
    Arcsine,
    CosineShortfall,
    InexactUniform,
    Normal,
    Product,
    ScaledT,
    Triangular,
    Uniform,
    draw,
    standard_uncertainty,
)

DATA = Path(__file__).parent.parent / "data"
FACTS = json.loads((DATA / "dial_indicator_facts.json").read_text())
GROWTH = json.loads((DATA / "thermal_examples.json").read_text())["cases"]


@pytest.mark.parametrize("case", FACTS["resolution"], ids=lambda case: str(case["graduation_mm"]))
def test_a_graduation_is_a_uniform_error(case):
    """JCGM 100:2008 F.2.2.1."""
    one = Resolution(step_mm=case["graduation_mm"]).as_input()
    assert one.u * 1000 == pytest.approx(case["read_to_one_graduation_u_um"], rel=1e-4)


def test_a_difference_carries_the_graduation_twice():
    step = 0.01
    assert Resolution(step_mm=step, difference=True).as_input().u == pytest.approx(step / 6**0.5)


def test_the_worked_dial_adds_up():
    worked = FACTS["worked"]
    parts = [
        IndicatorError(limit_mm=0.0025).as_input().u,
        IndicatorError(limit_mm=0.0015).as_input().u,
        Resolution(step_mm=0.01).as_input().u,
    ]
    assert [u * 1000 for u in parts] == pytest.approx(worked["u_parts_um"], abs=5e-4)
    assert math.hypot(*parts) * 1000 == pytest.approx(worked["u_total_um"], abs=5e-4)


@pytest.mark.parametrize("tilt_deg", [0.01, 0.5, 1.1, 1.2, 3, 10, 45])
def test_a_tilted_stem_is_corrected_by_its_mean_and_doubted_by_its_spread(tilt_deg):
    """Oracle: numerical integration of cos θ over ± tilt."""
    a = math.radians(tilt_deg)

    def mean(f):
        return integrate.quad(f, 0, a, epsabs=0, epsrel=1e-13)[0] / a

    short = mean(lambda t: 2 * math.sin(t / 2) ** 2)
    spread = math.sqrt(mean(lambda t: (2 * math.sin(t / 2) ** 2 - short) ** 2))
    stem = TiltedStem(travel_mm=0.5, tilt_deg=tilt_deg).as_input()
    assert stem.value == pytest.approx(-0.5 * short, rel=1e-6, abs=1e-15)
    assert stem.u == pytest.approx(0.5 * spread, rel=1e-7)


@pytest.mark.parametrize(
    "case", [c for c in GROWTH if "growth_um" in c], ids=lambda case: case["text"]
)
def test_growth_is_length_times_expansion_times_change(case):
    grown = ThermalGrowth(
        length_mm=case["L"],
        expansion_per_k=case["alpha"] * 1e-6,
        expansion_limit_per_k=0,
        change_k=case["dT"],
        change_limit_k=0,
    ).as_input()
    assert grown.value * 1000 == pytest.approx(-case["growth_um"], rel=1e-9)
    assert grown.u == 0


@pytest.mark.parametrize(
    ("readings", "difference", "u"),
    # JCGM 100:2008 4.2.3 for the mean; a difference of two adds their variances (5.1.2)
    [(1, False, 0.004), (4, False, 0.002), (1, True, 0.004 * 2**0.5), (4, True, 0.002 * 5**0.5)],
)
def test_averaging_divides_the_rigs_spread_and_a_zero_adds_its_own(readings, difference, u):
    rig = RigRepeatability(sd_mm=0.004, df=19, readings=readings, difference=difference).as_input()
    assert rig.u == pytest.approx(u, rel=1e-15)
    assert rig.df == 19


def test_give_under_the_stem_is_force_over_stiffness():
    give = ContactForce(force_limit_n=0.3, stiffness_n_per_mm=100).as_input()
    assert give.u == pytest.approx(0.003 / math.sqrt(3))


@pytest.mark.parametrize(("doubt", "df"), [(0.25, 8), (0.10, 50), (0.5, 2), (0, math.inf)])
def test_doubt_about_an_uncertainty_is_worth_degrees_of_freedom(doubt, df):
    """JCGM 100:2008 G.4.2, equation G.3 (from memory)."""
    assert doubt_df(doubt) == pytest.approx(df)


@pytest.mark.parametrize(
    "law",
    [
        Normal(sd=2),
        ScaledT(scale=2, df=math.inf),
        Uniform(half_width=3),
        Triangular(half_width=3),
        Arcsine(half_width=3),
        InexactUniform(half_width=3, doubt=3),
        CosineShortfall(length=50, tilt_rad=0.4),
        Product(first=3, first_half_width=1, second=5, second_half_width=2),
    ],
    ids=lambda law: type(law).__name__,
)
def test_draws_have_the_spread_that_the_law_states(law):
    drawn = draw(law, np.random.default_rng(7), 400_000)
    u = standard_uncertainty(law)
    assert drawn.std() == pytest.approx(u, rel=0.01)
    assert drawn.mean() == pytest.approx(0, abs=0.01 * u)


@pytest.mark.parametrize(
    ("law", "known"),
    [
        (Normal(sd=2), stats.norm(0, 2)),
        (ScaledT(scale=2, df=3), stats.t(3, 0, 2)),
        (Uniform(half_width=3), stats.uniform(-3, 6)),
        (Triangular(half_width=3), stats.triang(0.5, -3, 6)),
        (Arcsine(half_width=3), stats.arcsine(-3, 6)),
    ],
    ids=lambda one: type(one).__name__,
)
def test_draws_follow_the_law_of_the_reference_library(law, known):
    """scipy: Kolmogorov and Smirnov's test of 20,000 seeded draws."""
    drawn = draw(law, np.random.default_rng(17), 20_000)
    assert stats.kstest(drawn, known.cdf).pvalue > 0.01


def test_draws_within_doubtful_limits_have_the_trapezium_of_the_supplement():
    """JCGM 101:2008 6.4.3.4: curvilinear trapezium; share within the inner limits, by its density.

    Half-width a ± d: inside a - d the density is log((a + d)/(a - d)) / (4 d).
    """
    drawn = draw(InexactUniform(half_width=3, doubt=1), np.random.default_rng(17), 100_000)
    assert np.mean(np.abs(drawn) <= 2) == pytest.approx(4 * math.log(2) / 4, abs=0.005)
    assert np.abs(drawn).max() <= 4


def test_draws_from_few_readings_spread_wider_than_their_scale():
    """Variance of Student's t: df / (df - 2)."""
    drawn = draw(ScaledT(scale=1, df=8), np.random.default_rng(3), 400_000)
    assert drawn.std() == pytest.approx(math.sqrt(8 / 6), rel=0.01)
