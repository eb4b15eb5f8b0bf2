"""Conformity with guard bands against JCGM 106 and ISO 14253-1 (sources in the data file)."""

import json
import math
from pathlib import Path

import pytest
from scipy import stats

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.claims.conformity import (
    ISO_14253_1,
    Limits,
    judge,
)
from hostctl.metrology.claims.verdict import CannotTellYet, DoesNotMeet, Meets

RULES = json.loads(
    (Path(__file__).parent.parent / "data" / "decision_rules.json").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("rule", RULES["guard_band_factors"], ids=lambda rule: rule["rule"])
def test_guard_bands_keep_false_acceptance_rare(rule):
    """U = 2 u, u = 1: the largest value that is accepted lies w below it."""
    guard = rule["w_over_U"]
    largest = 100 - guard * 2
    assert isinstance(judge(largest - 1e-9, 2, Limits(upper=100), guard=guard), Meets)
    assert isinstance(judge(largest + 1e-9, 2, Limits(upper=100), guard=guard), CannotTellYet)
    worst = stats.norm.sf(100 - largest)
    assert worst <= rule["false_accept_max"]
    assert worst == pytest.approx(rule["recomputed"], rel=1e-4)


def test_the_default_guard_band_is_the_standards_rounded_up():
    assert math.ceil(stats.norm.ppf(0.95) / 2 * 100) / 100 == ISO_14253_1
    assert judge(99, 1, Limits(upper=100)) == judge(99, 1, Limits(upper=100), guard=ISO_14253_1)


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


@pytest.mark.parametrize(("value", "u"), [(math.nan, 1), (1, math.nan), (1, -1), (math.inf, 1)])
def test_numbers_that_cannot_be_judged_are_refused(value, u):
    with pytest.raises(NotEnough, match=Why.VALUE_NOT_JUDGED):
        judge(value, u, Limits(upper=1))


def test_limits_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="not below"):
        Limits(lower=2, upper=1)
