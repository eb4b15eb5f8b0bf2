"""Means compared, and equivalence."""

import json
from pathlib import Path

import pytest

from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.significance import holm
from hostctl.metrology.comparison.equivalence import (
    bias,
    mean_difference,
    mean_equivalence,
    welch_test,
)

DATA = Path(__file__).parents[1] / "data" / "spreads"
SLEEP = json.loads((DATA / "tost_sleep.json").read_text())
SLEEPERS = SLEEP["data"]["group1"], SLEEP["data"]["group2"]


def test_welch_on_students_sleep_data():
    result = welch_test(*SLEEPERS)
    recomputed = SLEEP["recomputed"]
    assert result.statistic == pytest.approx(-1.861, abs=5e-4)
    assert result.df[0] == pytest.approx(17.78, abs=5e-3)
    assert result.p_value == pytest.approx(recomputed["p"], rel=1e-9)
    difference = mean_difference(*SLEEPERS, confidence=0.9)
    assert (difference.low, difference.high) == pytest.approx(tuple(recomputed["ci90"]), rel=1e-9)


def test_students_paired_test_on_his_own_sleep_data():
    # the same source: paired t -4.0621, the drugs given to the same ten people
    differences = [one - other for one, other in zip(*SLEEPERS, strict=True)]
    result = welch_test(differences, 0.0)
    assert result.statistic == pytest.approx(-4.0621, abs=5e-5)
    assert (result.df, result.n, result.how) == ((9,), 10, "Student's t test, two-sided")
    assert result.source.startswith("Student 1908")


def test_two_one_sided_tests_on_students_sleep_data():
    # bounds +/-0.5: p 0.890 and 0.012 (introduction of an equivalence package, from memory)
    result = mean_equivalence(*SLEEPERS, margin=0.5)
    assert (result.p_low, result.p_high) == pytest.approx((0.890, 0.012), abs=5e-4)
    assert not result.equivalent
    assert result.difference.interval.confidence == pytest.approx(0.9)


@pytest.mark.parametrize("margin", [3.0, 3.1])
def test_equivalence_is_the_interval_within_the_margin(margin):
    # the 90 % interval reaches to -3.05338 (same source, recomputed)
    assert mean_equivalence(*SLEEPERS, margin=margin).equivalent is (margin > 3.05338)


def test_bias_against_a_datum():
    # by hand: mean 0.02, s 0.01, n 4; t(0.975; 3) = 3.1824 (published t tables)
    result = bias([0.01, 0.02, 0.02, 0.03], truth=0.0)
    assert result.value == pytest.approx(0.02)
    s = (0.0002 / 3) ** 0.5
    assert result.high == pytest.approx(0.02 + 3.182446 * s / 2, rel=1e-6)
    assert isinstance(bias([0.02, 0.02, 0.02], truth=0.0), NotYet)
    assert bias([0.01, 0.02, 0.02, 0.03], truth=0.5).value == pytest.approx(-0.48)


def test_holm_steps_down():
    # by hand, smallest times 4, next times 3, ... never falling
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([]) == []
    assert holm([0.7, 0.6, 0.0]) == [1.0, 1.0, 0.0]
    assert holm([1.0]) == [1.0]
    with pytest.raises(ValueError, match="between 0 and 1"):
        holm([0.5, 1.01])
    with pytest.raises(ValueError, match="between 0 and 1"):
        holm([0.5, float("nan")])


ALIKE = [0.1, 0.1, 0.1, 0.1, 0.1, 0.1]


@pytest.mark.parametrize("bad", [[], [1.0], [1.0, 2.0, 3.0, 4.0, float("nan")]])
@pytest.mark.parametrize(
    "function",
    [
        lambda y: welch_test(y, ALIKE),
        lambda y: mean_equivalence(ALIKE, y, margin=1.0),
        lambda y: bias(y, truth=0.0),
    ],
)
def test_what_cannot_be_compared_is_refused(function, bad):
    with pytest.raises(NotEnough):
        function(bad)


def test_margins_must_make_sense():
    with pytest.raises(ValueError, match="above 0"):
        mean_equivalence(ALIKE, ALIKE, margin=0.0)
