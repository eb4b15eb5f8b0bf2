"""The crossed gauge study against the measurement-systems manual's worked example."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.components.crossed import CrossedAnova, crossed_anova, crossed_components
from hostctl.metrology.components.crossed_cells import CrossedCells, crossed_cells, label_codes
from hostctl.metrology.components.gauge_figures import GaugeFigures
from hostctl.metrology.components.gauge_study import gauge_study

DATA = Path(__file__).parents[1] / "data" / "gauge_studies"
MANUAL = json.loads((DATA / "ten_parts_three_appraisers.json").read_text())
PUBLISHED, RECOMPUTED = MANUAL["published"], MANUAL["recomputed"]
SEED = 29


def columns(name: str, *names: str) -> list[list[str]]:
    with (DATA / name).open() as file:
        rows = list(csv.DictReader(file))
    return [[row[column] for row in rows] for column in names]


PARTS, APPRAISERS, VALUES = columns("ten_parts_three_appraisers.csv", "part", "appraiser", "value")
READINGS = np.array([float(value) for value in VALUES])


def cells() -> CrossedCells:
    return crossed_cells(label_codes(PARTS)[0], label_codes(APPRAISERS)[0], READINGS)


def f_of(test: Significance | NotYet) -> float:
    assert isinstance(test, Significance)
    return test.statistic


LINES = [
    ("appraiser", lambda a: a.operator),
    ("part", lambda a: a.part),
    ("interaction", lambda a: a.interaction),
    ("equipment", lambda a: a.repeatability),
    ("total", lambda a: a.total),
]


@pytest.mark.parametrize(("name", "line"), LINES)
def test_every_published_line_of_the_analysis_of_variance(name, line):
    published, got = PUBLISHED["anova"][name], line(crossed_anova(cells()))
    assert got.df == published["df"]
    assert got.ss == pytest.approx(published["ss"], abs=5e-5)
    assert got.ms == pytest.approx(published.get("ms", got.ms), abs=5.5e-6)
    # the manual divides by the equipment's mean square, not the interaction's
    ratio = got.ms / crossed_anova(cells()).repeatability.ms
    assert ratio == pytest.approx(published.get("F", ratio), abs=5e-3)


def test_f_ratios_against_what_they_must_exceed():
    table = RECOMPUTED["anova"]["table"]
    unpooled = crossed_anova(cells(), pool_above=1.0)
    assert f_of(unpooled.test(unpooled.operator)) == pytest.approx(table["operator"]["F"])
    assert f_of(unpooled.test(unpooled.part)) == pytest.approx(table["part"]["F"])
    assert f_of(unpooled.interaction_test) == pytest.approx(table["interaction"]["F"])
    pooled = crossed_anova(cells())
    expected = RECOMPUTED["anova"]["pooled"]["operator"]["F_against_pooled"]
    assert f_of(pooled.test(pooled.operator)) == pytest.approx(expected)


COMPONENTS = [
    ("sd_EV", lambda f: f.ev, 5e-7),
    ("sd_AV", lambda f: f.av, 5e-7),
    ("sd_interaction", lambda f: f.interaction, 0),
    ("sd_GRR", lambda f: f.grr, 2e-6),  # printed figure is 1 off its own parts in the last place
    ("sd_PV", lambda f: f.pv, 1e-6),
    ("sd_TV", lambda f: f.tv, 5e-4),
    ("pct_EV", lambda f: f.percent_of_total(f.ev), 0.05),
    ("pct_AV", lambda f: f.percent_of_total(f.av), 0.05),
    ("pct_GRR", lambda f: f.percent_of_total(f.grr), 0.05),
    ("pct_PV", lambda f: f.percent_of_total(f.pv), 0.05),
    ("ndc_value", lambda f: f.ndc_value, 5e-4),
]


@pytest.mark.parametrize(("name", "figure", "places"), COMPONENTS)
def test_every_published_component_with_the_interaction_pooled(name, figure, places):
    study = gauge_study(PARTS, APPRAISERS, READINGS)
    published = PUBLISHED["anova_components_pooled"][name]
    assert figure(study.figures) == pytest.approx(published, abs=places)


def test_the_pooling_rule_is_said():
    said = gauge_study(PARTS, APPRAISERS, READINGS).says
    assert said == Reason(Why.FULL_TABLE_POOLED, above=0.25)
    said = gauge_study(PARTS, APPRAISERS, READINGS, pool_above=1.0).says
    assert said == Reason(Why.FULL_TABLE)


def test_unpooled_components_floor_the_interaction():
    figures = gauge_study(PARTS, APPRAISERS, READINGS, pool_above=1.0).figures
    expected = RECOMPUTED["anova"]["components_with_interaction"]
    got = (figures.ev, figures.av, figures.interaction, figures.grr, figures.pv, figures.tv)
    names = ("EV", "AV_operator_only", "interaction", "GRR", "PV", "TV")
    assert got == pytest.approx([expected[f"sd_{name}"] for name in names], rel=1e-9)


def test_machine_and_coolant():
    # e-Handbook 3.2.3.2 (table from memory; its F tests are against the residual)
    data = json.loads((DATA / "two_way_machine_coolant.json").read_text())["recomputed"]
    machine, coolant, value = columns(
        "two_way_machine_coolant.csv", "machine", "coolant", "diameter"
    )
    got = crossed_anova(
        crossed_cells(label_codes(machine)[0], label_codes(coolant)[0], [float(v) for v in value])
    )
    lines = {"machine": got.part, "coolant": got.operator, "interaction": got.interaction}
    assert got.repeatability.ss == pytest.approx(0.000346, abs=5e-7)
    assert got.total.ss == pytest.approx(0.000668, abs=5e-7)
    ratios = {name: line.ms / got.repeatability.ms for name, line in lines.items()}
    assert ratios == pytest.approx({name: data[name]["F"] for name in lines}, rel=1e-9)
    assert ratios == pytest.approx({"machine": 8.8, "coolant": 0.45, "interaction": 0.42}, abs=0.05)


def test_share_of_tolerance_is_six_sigma_of_the_width():
    figures = GaugeFigures(ev=0.03, av=0.04, interaction=0.0, pv=0.12)
    assert figures.percent_of_tolerance(figures.grr, tolerance=1.0) == pytest.approx(30.0)
    assert figures.tv == pytest.approx(0.13)
    with pytest.raises(ValueError, match="above 0"):
        figures.percent_of_tolerance(figures.grr, tolerance=0.0)


def test_ndc_is_cut_and_at_least_one():
    assert GaugeFigures(ev=1.0, av=0.0, interaction=0.0, pv=3.5).ndc == 4
    assert GaugeFigures(ev=1.0, av=0.0, interaction=0.0, pv=0.1).ndc == 1
    assert isinstance(GaugeFigures(ev=0.0, av=0.0, interaction=0.0, pv=1.0).ndc, NotYet)


def simulated(rng: np.random.Generator, sd: GaugeFigures) -> CrossedAnova:
    parts, operators, trials = 10, 3, 3
    table = (
        rng.normal(0, sd.pv, (parts, 1, 1))
        + rng.normal(0, sd.av, (1, operators, 1))
        + rng.normal(0, sd.interaction, (parts, operators, 1))
        + rng.normal(0, sd.ev, (parts, operators, trials))
    )
    part, operator, _ = np.indices(table.shape)
    return crossed_anova(crossed_cells(part.ravel(), operator.ravel(), table), pool_above=1.0)


def graybill_wang(terms: list[tuple[float, float, int]]) -> tuple[float, float]:
    """The source's closed form, with scipy's chi-square: (factor, mean square, df) a term."""
    c, ms, df = (np.array(column, dtype=float) for column in zip(*terms, strict=True))
    below = 1 - df / stats.chi2.ppf(0.975, df)
    above = df / stats.chi2.ppf(0.025, df) - 1
    total = np.sum(c * ms)
    low = total - np.sqrt(np.sum((below * c * ms) ** 2))
    return low**0.5, (total + np.sqrt(np.sum((above * c * ms) ** 2))) ** 0.5


def test_the_intervals_of_grr_and_total_are_the_published_closed_form():
    # Burdick, Borror, Montgomery 2005, Design and Analysis of Gauge R&R Studies, tables 3.4, 3.5
    anova = simulated(
        np.random.default_rng(SEED), GaugeFigures(ev=1.0, av=2.0, interaction=1.5, pv=3.0)
    )
    p, o, r = 10, 3, 3
    ms = {"p": anova.part, "o": anova.operator, "po": anova.interaction, "e": anova.repeatability}
    found = crossed_components(anova)

    def term(factor: float, name: str) -> tuple[float, float, int]:
        return factor, ms[name].ms, ms[name].df

    error = term((r - 1) / r, "e")
    grr = graybill_wang([term(1 / (p * r), "o"), term((p - 1) / (p * r), "po"), error])
    assert (found.grr.low, found.grr.high) == pytest.approx(grr, rel=1e-9)
    shared = term((p * o - p - o) / (p * o * r), "po")
    total = graybill_wang([term(1 / (o * r), "p"), term(1 / (p * r), "o"), shared, error])
    assert (found.total.low, found.total.high) == pytest.approx(total, rel=1e-9)


def test_the_intervals_with_the_interaction_pooled_are_the_same_closed_form():
    """Graybill and Wang 1980 on the lines that are left, with scipy's chi-square."""
    anova = crossed_anova(cells())
    assert anova.pooled
    found = crossed_components(anova)
    p, o, r = 10, 3, 3
    part, operator = (anova.part.ms, 9), (anova.operator.ms, 2)
    error = ((anova.interaction.ss + anova.repeatability.ss) / 78, 78)
    grr = graybill_wang([(1 / (p * r), *operator), (1 - 1 / (p * r), *error)])
    assert (found.grr.low, found.grr.high) == pytest.approx(grr, rel=1e-9)
    rest = 1 - 1 / (p * r) - 1 / (o * r)
    total = graybill_wang([(1 / (o * r), *part), (1 / (p * r), *operator), (rest, *error)])
    assert (found.total.low, found.total.high) == pytest.approx(total, rel=1e-9)
    assert {e.n for e in (found.repeatability, found.part, found.grr, found.total)} == {90}
    whole = (found.grr.value, found.total.value)
    assert whole == pytest.approx((found.figures.grr, found.figures.tv), rel=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize("interaction", [0.1, 1.0])
def test_each_component_is_covered_as_often_as_stated(interaction):
    truth = GaugeFigures(ev=1.0, av=0.7, interaction=interaction, pv=3.0)
    rng = np.random.default_rng([SEED, int(10 * interaction)])
    runs = 300
    found = [crossed_components(simulated(rng, truth)) for _ in range(runs)]
    covered = {
        "repeatability": np.mean([truth.ev in f.repeatability.interval for f in found]),
        "operator": np.mean([truth.av in f.operator.interval for f in found]),
        "interaction": np.mean([interaction in f.interaction.interval for f in found]),
        "part": np.mean([truth.pv in f.part.interval for f in found]),
        "grr": np.mean([truth.grr in f.grr.interval for f in found]),
        "total": np.mean([truth.tv in f.total.interval for f in found]),
    }
    # three standard errors of a share of 0.95 in 300
    assert min(covered.values()) >= 0.95 - 3 * 0.0126


def test_one_trial_a_cell_pools_because_it_must():
    study = gauge_study(PARTS[::3], APPRAISERS[::3], READINGS[::3])
    assert study.components.interaction is None
    assert study.says == Reason(Why.FULL_TABLE_ONE_TRIAL)


def test_a_large_common_level_costs_no_more_than_the_rounding_of_the_input():
    plain = crossed_anova(cells())
    lifted = crossed_anova(
        crossed_cells(label_codes(PARTS)[0], label_codes(APPRAISERS)[0], READINGS + 1e9)
    )
    # readings near 1e9 are kept to 1.2e-7 in a double
    assert lifted.repeatability.ss == pytest.approx(plain.repeatability.ss, rel=1e-6)


def test_tiny_scatter_within_far_apart_cells_keeps_its_digits():
    rng = np.random.default_rng(SEED)
    part, operator, _ = np.indices((5, 3, 4))
    scatter = np.round(rng.normal(size=part.shape), 3)
    exact = float(((scatter - scatter.mean(axis=2, keepdims=True)) ** 2).sum())
    got = crossed_cells(part.ravel(), operator.ravel(), scatter + 1e6 * part)
    assert got.within_ss == pytest.approx(exact, rel=1e-8)


def test_a_million_rows_are_analysed():
    rng = np.random.default_rng(SEED)
    cell = rng.permutation(np.arange(1_000_000) % 100)
    readings = rng.normal(size=10)[cell // 10] + rng.normal(size=cell.size)
    found = crossed_components(crossed_anova(crossed_cells(cell // 10, cell % 10, readings)))
    assert 1.0 in found.repeatability.interval


NUMBERS = np.arange(4)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_a_value_that_is_no_number_is_named_by_its_row(value):
    with pytest.raises(NotEnough, match="row=3"):
        crossed_cells(NUMBERS, NUMBERS, [1.0, 2.0, value, 4.0])


@pytest.mark.parametrize(
    ("parts", "operators", "values", "says"),
    [
        ([], [], [], Why.TOO_FEW_PARTS),
        (["p"], ["a"], [1.0], Why.TOO_FEW_PARTS),
        (["p", "q"], ["a", "a"], [1.0, 2.0], Why.TOO_FEW_PARTS),
        (["p", "p"], ["a", "b"], [1.0, 2.0], Why.TOO_FEW_PARTS),
        (["p", "q"], ["a", "b"], [1.0], "differ in number"),
        (["p", "q"] * 4, ["a", "a", "b", "b"] * 2, [0.1] * 8, Why.REPEATS_EXACTLY),
        (["p", "q"] * 4, ["a", "a", "b", "b"] * 2, [0.1, 0.2] * 4, Why.REPEATS_EXACTLY),
    ],
)
def test_what_cannot_be_analysed_is_refused_with_a_reason(parts, operators, values, says):
    with pytest.raises(ValueError, match=says):
        gauge_study(parts, operators, values)


def test_floored_components_still_lie_within_the_interval_of_their_sum():
    """2 x 2, one trial, rows and columns alike: the closed form alone ends at 0, EV is 2."""
    found = crossed_components(
        crossed_anova(crossed_cells(np.array([0, 0, 1, 1]), np.array([0, 1, 0, 1]), [1, -1, -1, 1]))
    )
    assert found.total.value == found.grr.value == found.repeatability.value == 2.0
    assert found.total.low <= 2.0 <= found.repeatability.high <= found.grr.high <= found.total.high


def test_one_operator_makes_no_crossed_study():
    part = np.arange(6) // 2
    with pytest.raises(NotEnough, match=Why.TOO_FEW_PARTS):
        crossed_anova(crossed_cells(part, np.zeros(6, dtype=int), [1.0, 2.0, 3.0, 4.0, 5.0, 7.0]))


def test_labels_are_numbered_as_they_appear():
    """As numpy's unique has them, sorted by first appearance."""
    labels = ["b", "a", "b", "c", "a"]
    codes, names = label_codes(labels)
    known, first = np.unique(labels, return_index=True)
    assert names == [labels[place] for place in sorted(first)] == ["b", "a", "c"]
    assert [names[code] for code in codes] == labels
    assert set(known) == set(names)


def test_numbers_below_zero_are_refused():
    with pytest.raises(NotEnough, match=Why.TOO_MANY_CELLS):
        crossed_cells(np.array([0, -1]), np.array([0, 1]), [1.0, 2.0])


def test_p_values_are_those_of_the_reference_library():
    anova = crossed_anova(cells(), pool_above=1.0)
    test = anova.test(anova.operator)
    assert isinstance(test, Significance)
    assert test.p_value == pytest.approx(stats.f.sf(test.statistic, 2, 18), rel=1e-9)
