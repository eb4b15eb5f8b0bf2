"""ISO 230-2 figures of an axis: one case exact by hand, one public acceptance report."""

import json
import math
from pathlib import Path

import pytest

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Why
from hostctl.metrology.geometry.axis import judge_axis

DATA = Path(__file__).parent.parent / "data"
BY_HAND = json.loads((DATA / "iso230_2_constructed.json").read_text())
SLIT = json.loads((DATA / "iso230_2_slit_axis.json").read_text())


def figures(report):
    """The report's figures under the names of the data files."""
    return {
        "mean_up": report.up.means,
        "mean_down": report.down.means,
        "s_up": report.up.sds,
        "s_down": report.down.sds,
        "R_up": report.up.repeatability,
        "R_down": report.down.repeatability,
        "E_up": report.up.systematic,
        "E_down": report.down.systematic,
        "A_up": report.up.accuracy,
        "A_down": report.down.accuracy,
        "B_i": report.both.reversals,
        "B": report.both.reversal,
        "B_mean": report.both.mean_reversal,
        "mean_bi": report.both.means,
        "R_i": report.both.repeatabilities,
        "R": report.both.repeatability,
        "E": report.both.systematic,
        "M": report.both.mean_deviation,
        "A": report.both.accuracy,
    }


def report_of(case):
    return judge_axis(case["targets"], case["up"], case["down"])


@pytest.mark.parametrize("name", sorted(BY_HAND["exact"]))
def test_the_case_worked_by_hand(name):
    """Constructed; exact by algebra."""
    assert figures(report_of(BY_HAND))[name] == pytest.approx(BY_HAND["exact"][name], abs=1e-8)


@pytest.mark.parametrize("name", sorted(SLIT["expected_published"]))
def test_the_public_acceptance_report(name):
    """Printed to 1e-5 mm, B_i and R_i from means already rounded so: one such unit is allowed.

    It has no R, and prints its own kind of E (see the file).
    """
    published = SLIT["expected_published"][name]
    assert figures(report_of(SLIT))[name] == pytest.approx(published, abs=1.1e-5)


@pytest.mark.parametrize("name", sorted(SLIT["recomputed"]))
def test_the_same_report_recomputed_by_the_definitions(name):
    assert figures(report_of(SLIT))[name] == pytest.approx(
        SLIT["recomputed"][name], rel=1e-4, abs=1e-6
    )


def test_reversal_is_a_size_whichever_way_it_points():
    swapped = judge_axis(SLIT["targets"], SLIT["down"], SLIT["up"])
    assert swapped.both.reversal == pytest.approx(report_of(SLIT).both.reversal)
    assert swapped.both.mean_reversal == pytest.approx(-report_of(SLIT).both.mean_reversal)


def test_one_side_alone_says_nothing_of_reversal():
    report = judge_axis(SLIT["targets"], SLIT["up"])
    assert (report.down, report.both) == (None, None)
    assert report.up.repeatability == pytest.approx(0.0075024, abs=1e-6)


def test_fewer_runs_than_the_standard_asks_for_are_said():
    report = judge_axis([0, 1], [[0, 0.1], [1, 1.1]])
    assert report.cautions[0].code is Why.FEW_RUNS
    assert report.cautions[0].numbers["asked"] == 5
    assert report_of(SLIT).cautions == ()


@pytest.mark.parametrize(
    ("targets", "up", "error"),
    [
        ([], [], Why.TOO_FEW_TARGETS),
        ([0], [[0, 0]], Why.TOO_FEW_TARGETS),
        ([0, 1], [[0, 0]], Why.TOO_FEW_TARGETS),
        ([0, 1], [[0, 0], [1]], Why.TOO_FEW_RUNS),
        ([0, 1], [[0], [1]], Why.TOO_FEW_RUNS),
        ([0, 1], [[0, 0], [1, math.nan]], "target=2 run=2"),
    ],
)
def test_tables_that_are_no_test_are_refused_in_words(targets, up, error):
    with pytest.raises(NotEnough, match=error):
        judge_axis(targets, up)
