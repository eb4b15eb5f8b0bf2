"""Budgets from their files: published examples by the file's way, and what the reader is told."""

import inspect
import json
import math
from pathlib import Path

import numpy as np
import pytest

from hostctl.config.budgets.budget import BudgetFile, budget_from
from hostctl.config.find import SHIPPED
from hostctl.config.yaml_text import Source
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.uncertainty import budget
from hostctl.metrology.uncertainty.monte_carlo import propagate
from hostctl.metrology.uncertainty.propagation import combine, second_order_variance
from hostctl.report.budget.answer import answer
from hostctl.report.budget.budget import work_out
from hostctl.report.budget.cautions import cautions
from hostctl.report.budget.document import BUDGET
from hostctl.report.budget.mapping import budget_of
from hostctl.report.budget.result import RigSpread, UncertaintyBudget

DATA = Path(__file__).parents[1] / "data"
H1 = json.loads((DATA / "gum_h1_end_gauge.json").read_text())["expected_published"]
EXAMPLE = SHIPPED / "budgets" / "indicator-on-head.yaml"
HEAD = "measurand: height\ncontributions:\n"


def file_of(*entries: str, head: str = HEAD) -> BudgetFile:
    return budget_from(Source("b.yaml", head + "".join(f"  - {entry}\n" for entry in entries)))


def worked(
    *entries: str, head: str = HEAD, rigs: dict[int, RigSpread] | None = None
) -> UncertaintyBudget:
    return work_out(file_of(*entries, head=head), rigs or {}, seed=1, most_trials=200_000)


def test_the_end_gauge_of_the_guide_to_its_published_figures():
    """JCGM 100:2008, H.1 and table H.1; its U is 2.92 x 32 nm, from figures already rounded."""
    found_in = budget_of(budget_from(Source.of(DATA / "budgets" / "gum-h1-end-gauge.yaml")), {})
    found = combine(found_in)
    assert round(found.value) == round(H1["l_mm"] * 1e6)
    assert round(found.u) == H1["uc_nm"]
    assert round(found.u**2) == pytest.approx(H1["uc2_nm2"], abs=1)
    assert found.df == pytest.approx(H1["nu_eff"], abs=0.1)
    assert found.df_used == H1["nu_eff_used"]
    assert round(found.coverage_factor, 2) == H1["k99"]
    assert round(round(found.coverage_factor, 2) * round(found.u)) == H1["U99_nm"]
    assert found.expanded == pytest.approx(H1["U99_nm"], abs=0.6)
    curved = math.sqrt(found.u**2 + second_order_variance(found_in))
    assert round(curved) == H1["uc_with_second_order_nm"]


@pytest.mark.parametrize(
    ("name", "nm"),
    [
        ("lS", 25),
        ("d", 5.8),
        ("random", 3.9),
        ("systematic", 6.7),
        ("dalpha", 2.9),
        ("dtheta", 16.6),
        ("alphaS", 0),
        ("mean", 0),
        ("cycle", 0),
    ],
)
def test_each_part_of_the_end_gauge_is_the_published_one(name: str, nm: float):
    """JCGM 100:2008, table H.1, last column."""
    found = combine(
        budget_of(budget_from(Source.of(DATA / "budgets" / "gum-h1-end-gauge.yaml")), {})
    )
    part = next(line for line in found.lines if line.name == name)
    assert round(abs(part.contribution), 1) == nm


def test_the_end_gauge_by_simulation_is_the_published_one():
    """JCGM 101:2008, 9.5: 838 nm, u = 36 nm, 99 % from 745 nm to 932 nm."""
    found_in = budget_of(budget_from(Source.of(DATA / "budgets" / "jcgm-101-end-gauge.yaml")), {})
    found = propagate(found_in, np.random.default_rng(2008), most_trials=400_000)
    assert round(found.value) == 838
    assert round(found.u) == 36
    assert found.symmetric.low == pytest.approx(745, abs=2)
    assert found.symmetric.high == pytest.approx(932, abs=2)


@pytest.mark.parametrize(
    ("entry", "u_mm"),
    [
        ("resolution: {step_mm: 0.01}", 0.01 / math.sqrt(12)),
        ("resolution: {step_mm: 0.01, difference: true}", 0.01 / math.sqrt(6)),
        ("indicator_error: {limit_mm: 0.003}", 0.003 / math.sqrt(3)),
        ("rig_repeatability: {sd_mm: 0.004, df: 9, readings: 4}", 0.002),
        ("rig_repeatability: {sd_mm: 0.004, df: 9, difference: true}", 0.004 * math.sqrt(2)),
        (
            "rig_repeatability: {sd_mm: 0.01, df: 9, readings: 4, difference: true}",
            0.0125**0.5 / 10,
        ),
        ("contact_force: {force_limit_n: 0.2, stiffness_n_per_mm: 80}", 0.0025 / math.sqrt(3)),
        (
            "thermal_growth: {length_mm: 50, expansion_per_k: 2e-5, change_limit_k: 1}",
            1e-3 / math.sqrt(3),
        ),
        ("other: {name: a, normal: 0.002}", 0.002),
        ("other: {name: a, triangular: 0.003}", 0.003 / math.sqrt(6)),
        ("other: {name: a, arcsine: 0.003}", 0.003 / math.sqrt(2)),
        ("other: {name: a, uniform: 0.003, sensitivity: -2}", 0.006 / math.sqrt(3)),
    ],
)
def test_each_kind_brings_the_standard_uncertainty_the_guide_gives_it(entry: str, u_mm: float):
    """JCGM 100:2008, 4.2.3, 4.3.7, 4.3.9, F.2.2.1; zero and reading add as variances (5.1.2)."""
    assert combine(budget_of(file_of(entry), {})).u == pytest.approx(u_mm, rel=1e-9)


@pytest.mark.parametrize(("doubt", "df"), [(0.25, 8), (0.1, 50), (0.5, 2)])
def test_a_judged_doubt_gives_degrees_of_freedom(doubt: float, df: float):
    """JCGM 100:2008, G.4.2 and the doubts of H.1."""
    file = file_of(f"other: {{name: a, uniform: 1, relative_doubt: {doubt}}}")
    assert combine(budget_of(file, {})).df == pytest.approx(df)


def test_the_spread_of_a_rig_check_is_taken_with_its_degrees_of_freedom():
    rigs = {4: RigSpread(run=4, sd_mm=0.006, df=20, bound=False)}
    found = combine(budget_of(file_of("rig_repeatability: {from_run: 4}"), rigs))
    assert (found.u, found.df) == (0.006, 20)


def test_a_rig_of_which_only_a_bound_is_known_is_taken_on_the_safe_side_and_said_so():
    rigs = {4: RigSpread(run=4, sd_mm=0.0039, df=9, bound=True)}
    result = worked("rig_repeatability: {from_run: 4}", rigs=rigs)
    assert "the upper bound of 0.0039 mm was taken" in " ".join(cautions(result))


def test_a_normal_budget_is_stated_by_its_coverage_factor():
    result = worked("other: {name: a, normal: 0.003}", "other: {name: b, normal: 0.004}")
    assert result.agrees
    assert answer(result) == "The height is known to ±0.0098 mm (k = 1.96, 95 %)."


def test_one_large_uniform_part_is_stated_by_simulation_with_the_reason():
    """JCGM 101:2008, 9.2.4: one rectangular part ten times the others; 17.0 against 19.9."""
    rest = [f"other: {{name: x{i}, uniform: 1.7320508}}" for i in range(3)]
    result = worked("other: {name: large, uniform: 17.320508}", *rest)
    assert answer(result) == "The height is known to ±17 mm (95 %, by simulation)."
    assert not result.agrees
    said = " ".join(cautions(result))
    assert "The two methods disagree" in said
    assert "Large is most of the uncertainty and has sharp limits" in said


def test_a_correction_that_shows_is_part_of_the_answer():
    result = worked("tilted_stem: {travel_mm: 5, tilt_deg: 6}")
    assert ", once a correction of −0.00" in answer(result)


def test_few_degrees_of_freedom_are_named():
    result = worked("rig_repeatability: {sd_mm: 0.004, df: 2}")
    assert "rests on 2 degrees of freedom" in " ".join(cautions(result))


def test_the_interval_in_the_answer_is_the_simulations_own():
    """A quotient, lopsided: its mean by simulation is not its value at the best estimates."""
    parts = (
        "other: {name: a, value: 1, normal: 0.1}",
        "other: {name: b, value: 0.3, normal: 0.03}",
    )
    result = worked(*parts, head="model: a / b\n" + HEAD)
    low, high = result.simulation.interval
    assert f"lies between {low:.1f} and {high:.1f} mm" in answer(result)


def test_a_simulation_that_does_not_settle_is_said_not_to():
    """Student's t has no variance on 1 degree of freedom, so u by simulation means nothing."""
    result = worked("rig_repeatability: {sd_mm: 0.003, df: 1}", "resolution: {step_mm: 0.01}")
    assert "value and u mean nothing here" in " ".join(cautions(result))
    settled = worked("rig_repeatability: {sd_mm: 0.003, df: 4}", "resolution: {step_mm: 0.01}")
    assert "mean nothing" not in " ".join(cautions(settled))
    quotient = worked(
        "other: {name: a, value: 1, normal: 0.1}",
        "other: {name: b, value: 0.2, normal: 0.1}",
        head="model: a / b\n" + HEAD,
    )
    assert "value and u mean nothing here" in " ".join(cautions(quotient))


def test_an_ordinary_simulation_is_not_distrusted_at_any_confidence():
    result = worked("other: {name: a, normal: 1}", head="confidence: 0.51\n" + HEAD)
    assert "mean nothing" not in " ".join(cautions(result))
    exact = worked("rig_repeatability: {sd_mm: 0, df: 1}", "other: {name: a, normal: 1}")
    assert "mean nothing" not in " ".join(cautions(exact))


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (3, 2.5, "The largest part is a, 59 % of the variance."),  # 9 of 15.25
        (2.5, 3, "The largest part is b, 59 % of the variance."),
        (3, 3, ""),
    ],
)
def test_the_part_worth_mending_is_named_where_there_is_one(first: float, second: float, said: str):
    parts = (f"other: {{name: a, normal: {first}}}", f"other: {{name: b, normal: {second}}}")
    third = "other: {name: c, normal: 0.1}"
    said_of = " ".join(cautions(worked(*parts, third)))
    assert said in said_of
    assert ("largest part" in said_of) is bool(said)


def test_contradicting_correlations_are_refused():
    names = ["a", "b", "c"]
    pairs = "correlations:\n" + "".join(
        f"  - {{between: [{one}, {other}], r: -0.9}}\n"
        for one, other in (("a", "b"), ("a", "c"), ("b", "c"))
    )
    with pytest.raises(ValueError, match=Why.CORRELATIONS_CONTRADICT):
        worked(*[f"other: {{name: {n}, normal: 1}}" for n in names], head=pairs + HEAD)


def test_a_model_without_a_value_is_refused():
    with pytest.raises(ValueError, match=Why.MODEL_FAILS):
        worked("other: {name: a, value: 1, normal: 1}", head="model: sqrt(a)\n" + HEAD)


def test_no_uncertainty_at_all_is_said_plainly():
    assert "every contribution in the file is zero" in answer(worked("other: {name: a, normal: 0}"))


@pytest.fixture(scope="module")
def example() -> UncertaintyBudget:
    return work_out(budget_from(Source.of(EXAMPLE)), {}, seed=1)


@pytest.mark.slow
def test_the_example_fits_a_terminal(example: UncertaintyBudget):
    lines = BUDGET.text(example, explained=True).splitlines()
    assert max(map(len, lines)) <= 80


def test_the_explanation_shows_the_numbers_and_the_clauses(example: UncertaintyBudget):
    text = BUDGET.text(example, explained=True)
    assert "step/√6 = 0.01/√6" in text
    assert "s √(1/1 + 1) = 0.003 √(1/1 + 1), s as given on 19 df" in " ".join(text.split())
    assert all(clause in text for clause in ("eq. 13", "G.2b", "G.3.2", "F.2.2.1"))
    assert "Standard uncertainty u of each" not in BUDGET.text(example)


def test_the_figures_for_programs_are_plain_json(example: UncertaintyBudget):
    found = json.loads(json.dumps(BUDGET.data(example), allow_nan=False))
    assert found["propagation"]["expanded"] == pytest.approx(0.01241, abs=2e-5)
    assert found["contributions"][0]["df"] is None
    assert sum(part["share"] for part in found["contributions"]) == pytest.approx(1)


def test_the_layout_the_maths_describes_is_the_files():
    text = inspect.cleandoc((budget.__doc__ or "").partition("field by field:\n\n")[2])
    file = budget_from(Source("docstring", text))
    assert len(combine(budget_of(file, {})).lines) == 7


def judged(value: float, limits: str) -> UncertaintyBudget:
    """Of a value with u = 0.006 mm: U = 0.012, and 0.83 U is 0.00996."""
    head = f"measurand: gap\nlimits: {limits}\ncontributions:\n"
    return worked(f"other: {{name: mean, normal: 0.006, value: {value}}}", head=head)


@pytest.mark.parametrize(
    ("value", "limits", "decision"),
    [
        # ISO 14253-1:2017 with its guard band of 0.83 U (from memory), on either side of it
        (0.2400, "{lower: 0.15, upper: 0.25}", "accepted"),
        (0.2401, "{lower: 0.15, upper: 0.25}", "cannot tell"),
        (0.1599, "{lower: 0.15}", "cannot tell"),
        (0.2600, "{upper: 0.25}", "rejected"),
        (0.2599, "{upper: 0.25}", "cannot tell"),
        (0.2, "{lower: 0.195, upper: 0.205}", "cannot tell"),
    ],
)
def test_a_value_is_judged_with_a_guard_band(value: float, limits: str, decision: str):
    found = judged(value, limits).conformity
    assert found is not None
    assert (found.decision, found.expanded) == (decision, pytest.approx(0.012))
    assert found.guard == pytest.approx(0.00996)


def test_a_judgement_is_told_beside_the_answer():
    text = " ".join(BUDGET.text(judged(0.21, "{lower: 0.15, upper: 0.25}")).split())
    assert (
        "Limits 0.15 to 0.25 mm: accepted, as the value lies inside the limits by a guard" in text
    )
    assert "Limits at most 0.25 mm: rejected" in " ".join(
        BUDGET.text(judged(0.3, "{upper: 0.25}")).split()
    )
    assert "Limits" not in BUDGET.text(worked("other: {name: mean, normal: 0.006, value: 0.2}"))
