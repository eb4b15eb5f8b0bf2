"""Uncertainty budgets against the worked examples of JCGM 100 (data files name the sources)."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.uncertainty.budget import Budget, Correlation
from hostctl.metrology.uncertainty.contributions import Input, doubt_df
from hostctl.metrology.uncertainty.laws import Arcsine, Normal, Uniform
from hostctl.metrology.uncertainty.propagation import (
    combine,
    second_order_variance,
)

DATA = Path(__file__).parent.parent / "data"
ROOT3 = math.sqrt(3)


def normal(name, value, u, df=math.inf):
    return Input(name=name, value=value, law=Normal(sd=u), df=df)


def uniform(name, half_width, df=math.inf, value=0.0):
    return Input(name=name, value=value, law=Uniform(half_width=half_width), df=df)


END_GAUGE = Budget(
    contributions=(
        normal("standard", 50_000_623, 25, 18),
        normal("difference", 215, 5.8, 24),
        normal("random", 0, 3.9, 5),
        normal("systematic", 0, 6.7, 8),
        uniform("expansion", 2e-6, value=11.5e-6),
        normal("mean temperature", -0.1, 0.2),
        Input(name="cycle", law=Arcsine(half_width=0.5)),
        uniform("expansion difference", 1e-6, doubt_df(0.1)),
        uniform("temperature difference", 0.05, doubt_df(0.5)),
    ),
    model=lambda ls, d, d1, d2, a, th, cy, da, dth: (
        ls + d + d1 + d2 - ls * (da * (th + cy) + a * dth)
    ),
    confidence=0.99,
    unit="nm",
)  # JCGM 100:2008 H.1: a 50 mm end gauge, lengths in nm, temperatures in K from 20 °C

PRINTED_END_GAUGE = Budget(
    contributions=(
        normal("standard", 50_000_623, 25, 18),
        normal("difference", 215, 9.7, 25.6),
        normal("expansion", 11.5e-6, 1.2e-6),
        normal("temperature", -0.1, 0.41),
        normal("expansion difference", 0, 0.58e-6, 50),
        normal("temperature difference", 0, 0.029, 2),
    ),
    model=lambda ls, d, a, th, da, dth: ls + d - ls * (da * th + a * dth),
    confidence=0.99,
    unit="nm",
)  # the same with the rounded figures of its Table H.1, from which its results were printed


def test_the_end_gauge_of_the_gum_comes_out_to_every_published_figure():
    published = json.loads((DATA / "gum_h1_end_gauge.json").read_text())["expected_published"]
    result = combine(PRINTED_END_GAUGE)
    assert result.value == pytest.approx(published["l_mm"] * 1e6, abs=0.5)
    assert round(result.u) == published["uc_nm"]
    assert result.df == pytest.approx(published["nu_eff"], abs=0.1)  # 16.6, as u_c is not rounded
    assert result.df_used == published["nu_eff_used"]
    assert round(result.coverage_factor, 2) == published["k99"]
    assert round(result.expanded) == published["U99_nm"]


def test_the_end_gauges_interval_is_the_published_one():
    """JCGM 101:2008 9.5.3.1: by propagation 99 % from 745 nm to 931 nm (from memory)."""
    case = json.loads((DATA / "monte_carlo_jcgm101.json").read_text())["cases"][3]
    interval = combine(PRINTED_END_GAUGE).interval
    nominal = 50_000_000
    found = [round(interval.low - nominal), round(interval.high - nominal)]
    assert found == case["expected_published"]["linear_method"]["interval99"]


def test_the_end_gauges_difference_is_put_together_as_published():
    """JCGM 100:2008 H.1.3.2: u(d) = 9.7 nm on 25.6 degrees of freedom, from 5.8, 3.9 and 6.7 nm.

    From the rounded parts 25.4 degrees of freedom come out (see the data file).
    """
    parts = (normal("a", 0, 5.8, 24), normal("b", 0, 3.9, 5), normal("c", 0, 6.7, 8))
    result = combine(Budget(contributions=parts))
    assert round(result.u, 1) == 9.7
    assert result.df == pytest.approx(25.6, abs=0.2)
    assert result.df_used == 25


@pytest.mark.parametrize(("df", "used"), [(15.96, 16), (15.94, 15), (0.4, 1)])
def test_degrees_of_freedom_are_cut_once_printed_to_one_decimal(df, used):
    assert combine(Budget(contributions=(normal("a", 0, 1, df),))).df_used == used


MASS = Budget(
    contributions=(
        normal("reference", 100_000.0, 0.050),
        normal("added", 1.234, 0.020),
        uniform("air", 0.10, value=1.20),
        uniform("density", 1000, value=8000),
        uniform("reference density", 50, value=8000),
    ),
    model=lambda m, d, air, w, r: (m + d) * (1 + (air - 1.2) * (1 / w - 1 / r)) - 100_000,
    unit="mg",
)  # JCGM 101:2008 9.3: a weight in air, masses in mg, densities in kg/m³ (from memory)


@pytest.mark.parametrize(("curved", "u", "low", "high"), [
    (False, 0.0539, 1.1285, 1.3395),
    (True, 0.0750, 1.0870, 1.3810),
])  # fmt: skip
def test_the_weight_needs_second_order_terms_as_published(curved, u, low, high):
    """JCGM 101:2008 table 6 (from memory); its second pair of ends is from u = 0.0750, rounded."""
    first = combine(MASS)
    found = math.sqrt(first.u**2 + (second_order_variance(MASS) if curved else 0))
    ends = [1.234 - first.coverage_factor * found, 1.234 + first.coverage_factor * found]
    assert (round(first.value, 3), round(found, 4)) == (1.234, u)
    assert ends == pytest.approx([low, high], abs=1e-4)


def test_second_order_terms_of_a_cube_and_of_a_product_are_those_of_algebra():
    """Moments of normal x (a, s), y (b, t): var x³ has 36 a²s⁴, var x y² has 2 a²t⁴ + 6 b²s²t²."""
    cube = Budget(contributions=(normal("x", 3, 1e-2),), model=lambda x: x**3)
    assert second_order_variance(cube) == pytest.approx(36 * 3**2 * 1e-8, rel=1e-3)
    a, s, b, t = 2, 1e-2, 5, 3e-2
    product = Budget(
        contributions=(normal("x", a, s), normal("y", b, t)), model=lambda x, y: x * y**2
    )
    expected = 2 * a**2 * t**4 + 6 * b**2 * s**2 * t**2
    assert second_order_variance(product) == pytest.approx(expected, rel=1e-3)


def test_every_line_of_the_end_gauges_table_is_the_published_one():
    lines = combine(PRINTED_END_GAUGE).lines
    assert [abs(round(line.contribution, 1)) for line in lines] == [25, 9.7, 0, 0, 2.9, 16.7]
    # printed 16.6: its 0.0289 K was not yet rounded


def test_the_end_gauges_second_order_terms_are_the_published_ones():
    published = json.loads((DATA / "gum_h1_end_gauge.json").read_text())["expected_published"]
    added = second_order_variance(END_GAUGE)
    terms = published["second_order_terms_nm"]
    assert math.sqrt(added) == pytest.approx(math.hypot(*terms), abs=0.1)
    assert (
        round(math.sqrt(combine(END_GAUGE).u ** 2 + added)) == published["uc_with_second_order_nm"]
    )


def test_curvature_that_matters_is_cautioned_about():
    assert combine(END_GAUGE).cautions[0].code is Why.MODEL_BENDS


def test_a_line_read_far_from_its_data_needs_the_correlation_of_its_parameters():
    """JCGM 100:2008 H.3: thermometer correction at 30 °C."""
    case = json.loads((DATA / "gum_h3_thermometer.json").read_text())
    published = case["expected_published"]
    away = np.array(case["t_C"]) - 20
    (slope, start), cov = np.polyfit(away, case["b_C"], 1, cov=True)
    r = cov[0, 1] / math.sqrt(cov[0, 0] * cov[1, 1])
    parameters = (
        normal("start", start, math.sqrt(cov[1, 1]), 9),
        normal("slope", slope, math.sqrt(cov[0, 0]), 9),
    )
    at_30 = Budget(
        contributions=parameters,
        sensitivities={"slope": 10.0},
        correlations=(Correlation(first="start", second="slope", r=r),),
    )
    result = combine(at_30)
    assert round(result.value, 4) == published["b30"]
    assert round(result.u, 4) == published["uc_b30"]
    assert result.df == pytest.approx(published["dof"])
    alone = combine(Budget(contributions=parameters, sensitivities={"slope": 10.0}))
    assert alone.u == pytest.approx(case["recomputed"]["uc_b30_if_correlation_ignored"], rel=1e-5)


def test_effective_degrees_of_freedom_of_a_product():
    """JCGM 100:2008 G.4.1, relative uncertainties in percent."""
    case = json.loads((DATA / "welch_satterthwaite.json").read_text())["cases"][0]
    published = case["expected_published"]
    parts = tuple(
        normal(f"input {df}", 0, u, df)
        for u, df in zip(case["relative_u_percent"], case["dof"], strict=True)
    )
    result = combine(Budget(contributions=parts))
    assert round(result.u, 2) == published["uc_percent"]
    assert round(result.df, 1) == published["nu_eff"]
    assert round(result.coverage_factor, 2) == published["t95"]
    assert round(result.expanded, 1) == published["U95_percent"]


@pytest.mark.parametrize(
    ("dfs", "expected"),
    [((math.inf, math.inf), math.inf), ((7, math.inf), 28.0), ((7, 7), 14.0)],
)
def test_degrees_of_freedom_lie_between_the_fewest_and_their_sum(dfs, expected):
    parts = tuple(normal(f"part {i}", 0, 1, df) for i, df in enumerate(dfs))
    assert combine(Budget(contributions=parts)).df == pytest.approx(expected)


def test_numeric_sensitivities_agree_with_given_ones():
    parts = (normal("a", 2.0, 1e-4), normal("b", 3.0, 1e-4))
    found = combine(Budget(contributions=parts, model=lambda a, b: a * a * b))
    given = combine(
        Budget(contributions=parts, model=lambda a, b: a * a * b, sensitivities={"a": 12, "b": 4})
    )
    assert found.u == pytest.approx(given.u, rel=1e-8)
    assert [line.sensitivity for line in found.lines] == pytest.approx([12, 4], rel=1e-8)


def test_one_uniform_part_that_dominates_is_cautioned_about():
    flat = combine(Budget(contributions=(uniform("graduation", 5), normal("rig", 0, 0.5))))
    even = combine(Budget(contributions=(uniform("graduation", 5), normal("rig", 0, 3))))
    assert flat.cautions[0] == Reason(Why.UNIFORM_DOMINATES, name="graduation")
    assert even.cautions == ()


def test_correlated_inputs_count_as_one_on_the_fewest_degrees_of_freedom():
    parts = (normal("a", 0, 3, 4), normal("b", 0, 4, 20))
    pairs = (Correlation(first="a", second="b", r=0.5),)
    result = combine(Budget(contributions=parts, correlations=pairs))
    assert result.df == pytest.approx(4)
    assert result.cautions[0].code is Why.CORRELATED_FREEDOM


@pytest.mark.parametrize(("r", "u"), [(1, 7), (-1, 1), (0, 5)])
def test_perfect_correlation_adds_and_cancels(r, u):
    parts = (normal("a", 0, 3), normal("b", 0, 4))
    pairs = (Correlation(first="a", second="b", r=r),)
    assert combine(Budget(contributions=parts, correlations=pairs)).u == pytest.approx(u)


@pytest.mark.parametrize(
    ("contributions", "changes", "error"),
    [
        ((), {}, Why.NO_CONTRIBUTION),
        ((normal("a", 0, 1), normal("a", 0, 1)), {}, Why.NAMES_TWICE),
        ((normal("a", math.nan, 1),), {}, Why.INPUT_UNUSABLE),
        ((normal("a", 0, -1),), {}, Why.INPUT_UNUSABLE),
        ((normal("a", 0, math.inf),), {}, Why.INPUT_UNUSABLE),
        ((normal("a", 0, 1, 0),), {}, Why.INPUT_UNUSABLE),
        ((normal("a", 0, 1),), {"sensitivities": {"b": 2}}, Why.NO_SUCH_CONTRIBUTION),
        ((normal("a", 0, 1), normal("b", 0, 1)),
         {"correlations": (Correlation(first="a", second="b", r=1.5),)},
         Why.CORRELATIONS_CONTRADICT),
        ((normal("a", 0, 1),), {"correlations": (Correlation(first="a", second="b", r=1),)},
         Why.NO_SUCH_CONTRIBUTION),
    ],
)  # fmt: skip
def test_a_budget_that_makes_no_sense_is_refused_in_words(contributions, changes, error):
    with pytest.raises(NotEnough, match=error):
        Budget(contributions=contributions, **changes)


def test_a_model_without_a_finite_value_is_refused():
    broken = Budget(contributions=(normal("a", 0, 1),), model=lambda a: a * math.nan)
    with pytest.raises(NotEnough, match=Why.MODEL_HAS_NO_VALUE):
        combine(broken)


def test_a_budget_of_zeros_has_no_uncertainty():
    result = combine(Budget(contributions=(normal("a", 5, 0),)))
    assert (result.value, result.u, result.expanded) == (5, 0, 0)
