"""Conformity with guard bands against JCGM 106 and ISO 14253-1 (sources in the data file)."""

import json
import math
from pathlib import Path

import pytest

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.conformity import (
    ISO_14253_1,
    Limits,
    capability_index,
    conformance_probability,
    guard_factor,
    judge,
    rejection_limit,
    worst_false_acceptance,
)
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets

RULES = json.loads(
    (Path(__file__).parent.parent / "data" / "decision_rules.json").read_text(encoding="utf-8")
)
CASES = {case["id"]: case for case in RULES["cases"]}


@pytest.mark.parametrize(("case", "side"), [("zener", "upper"), ("burst", "lower")])
def test_the_worked_examples_of_jcgm_106(case, side):
    given = CASES[case]
    limits = Limits(**{side: given[f"{side}_limit"]})
    chance = conformance_probability(given["y"], given["u"], limits)
    assert round(chance, 2) == given["expected_published"]


def test_the_speed_above_which_the_limit_was_surely_exceeded():
    """JCGM 106:2012 8.3.3, with u a fixed share of the speed found by repeating."""
    given = CASES["speed"]
    at = given["limit"]
    for _ in range(50):
        at = rejection_limit(given["limit"], given["relative_u"] * at, certainty=0.999)
    assert math.ceil(at) == given["expected_published_limit"]
    assert at == pytest.approx(given["recomputed"]["u_proportional"], abs=1e-3)


@pytest.mark.parametrize("row", RULES["table_z"], ids=lambda row: str(row["p_c"]))
def test_how_far_inside_a_limit_makes_how_sure(row):
    """JCGM 106:2012 table 1 (from memory; 1.645 is printed cut)."""
    inside = conformance_probability(-row["z"], 1.0, Limits(upper=0.0))
    assert inside == pytest.approx(row["p_c"], abs=1.5e-3)
    assert rejection_limit(0.0, 1.0, certainty=row["p_c"]) == pytest.approx(row["z"], abs=5.1e-3)


@pytest.mark.parametrize("rule", RULES["guard_band_factors"], ids=lambda rule: rule["rule"])
def test_guard_bands_keep_false_acceptance_rare(rule):
    worst = worst_false_acceptance(rule["w_over_U"])
    assert worst <= rule["false_accept_max"]
    assert worst == pytest.approx(rule["recomputed"], rel=1e-4)


def test_the_default_guard_band_is_the_standards_rounded_up():
    assert math.ceil(guard_factor(0.05) * 100) / 100 == ISO_14253_1


ANSWERS = {"accept": Meets, "undecided": CannotTellYet, "reject": DoesNotMeet}


@pytest.mark.parametrize(("value", "answer"), RULES["truth_table_constructed"]["rows"])
def test_the_truth_table_of_one_limit(value, answer):
    assert isinstance(judge(value, 20, Limits(upper=100), guard=1), ANSWERS[answer])


@pytest.mark.parametrize(
    ("value", "answer"), [(0, "undecided"), (210, "undecided"), (211, "reject")]
)
def test_an_uncertainty_wider_than_the_tolerance_accepts_nothing(value, answer):
    verdict = judge(value, 110, Limits(lower=-100, upper=100), guard=1)
    assert isinstance(verdict, ANSWERS[answer])


def test_no_room_for_acceptance_is_said():
    verdict = judge(0, 110, Limits(lower=-100, upper=100), guard=1)
    assert verdict.why.code is Why.NO_ROOM_FOR_VALUE


@pytest.mark.parametrize(
    ("value", "u", "limits", "df", "chance"),
    [
        (1, 0.3, Limits(upper=1), math.inf, 0.5),
        (1, 0.3, Limits(lower=1), math.inf, 0.5),
        (0.9, 0, Limits(upper=1), math.inf, 1),
        (1.1, 0, Limits(upper=1), math.inf, 0),
        (0, 1, Limits(lower=-1, upper=1), math.inf, 0.682689),  # one standard deviation
        (0, 1, Limits(lower=-1, upper=1), 1, 0.5),  # Cauchy law: its quartiles are at ± 1
    ],
)
def test_chance_of_conforming_at_its_landmarks(value, u, limits, df, chance):
    assert conformance_probability(value, u, limits, df=df) == pytest.approx(chance, abs=1e-6)


def test_capability_compares_tolerance_with_uncertainty():
    assert capability_index(Limits(lower=-1, upper=1), 0.125) == 4


@pytest.mark.parametrize(("value", "u"), [(math.nan, 1), (1, math.nan), (1, -1), (math.inf, 1)])
def test_numbers_that_cannot_be_judged_are_refused(value, u):
    with pytest.raises(NotEnough, match=Why.VALUE_NOT_JUDGED):
        judge(value, u, Limits(upper=1))


def test_limits_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="not below"):
        Limits(lower=2, upper=1)
