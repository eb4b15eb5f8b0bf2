"""Runs of an axis test and of a gauge comparison told: from the database, and from a report."""

import asyncio
import json
from itertools import islice

import pytest
from axis_runs import (
    APART_MM,
    AXIS_STUDY,
    GAUGE_STUDY,
    PLAY_MM,
    axis_readings,
    gauge_readings,
    keep,
)

from hostctl.cli.main import main
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.kinds.axis.document import AXIS
from hostctl.report.kinds.axis.found.from_run import axis_of
from hostctl.report.kinds.gauges.document import GAUGES
from hostctl.report.kinds.gauges.found.from_run import gauges_of


@pytest.fixture
def database(tmp_path):
    return tmp_path / "runs.db"


@pytest.mark.parametrize("sign", [1, -1])
async def test_an_axis_is_found_whichever_way_its_indicator_counts(database, sign):
    await keep(database, "axis-test", AXIS_STUDY, axis_readings(sign), sign)
    found = axis_of(sourced_run(database, 1))
    assert found.runs == 5
    assert found.reversal is not None
    assert found.mean_reversal_mm == pytest.approx(-PLAY_MM, abs=0.005)
    assert found.reversal.interval.low <= PLAY_MM <= found.reversal.interval.high
    assert found.targets[0].mean_mm == pytest.approx(0.0)
    assert found.accuracy is None


async def test_a_plunger_that_hung_free_at_the_top_target_is_noticed(database):
    """It shows no more than where it came free: 0.06 mm before the target."""
    free_mm = 0.4 - 0.16
    readings = [(*one[:4], max(one[4], free_mm), one[5]) for one in axis_readings(1)]
    await keep(database, "axis-test", AXIS_STUDY, readings, 1)
    found = axis_of(sourced_run(database, 1))
    assert found.moved_less_mm == pytest.approx(0.05, abs=0.01)
    told = " ".join(AXIS.text(found).split())
    assert "At 0.22 mm the plunger may have hung free: the number went" in told


async def test_a_run_in_which_nothing_is_odd_names_nothing(database):
    await keep(database, "axis-test", AXIS_STUDY, axis_readings(1), 1)
    found = axis_of(sourced_run(database, 1))
    assert (found.far, found.together, found.moved_less_mm) == ((), None, None)


async def test_a_reading_far_from_the_others_of_a_run_is_named(database):
    readings = [(*one[:4], one[4] + 0.12 * (one[1] == 8), one[5]) for one in axis_readings(1)]
    await keep(database, "axis-test", AXIS_STUDY, readings, 1)
    (far,) = axis_of(sourced_run(database, 1)).far
    assert (far.target_mm, far.coming_from, far.run) == (-1.3, "below", 2)
    assert far.off_mm == pytest.approx(-0.12, abs=0.011)


async def test_a_wrong_word_about_the_plunger_is_noticed(database):
    await keep(database, "axis-test", AXIS_STUDY, axis_readings(1), -1)
    with pytest.raises(Exception, match="go the other way than was said"):
        axis_of(sourced_run(database, 1))


async def test_nothing_is_told_before_two_runs_are_whole_or_where_the_sign_is_missing(database):
    await keep(database, "axis-test", AXIS_STUDY, islice(axis_readings(1), 11), 1)
    with pytest.raises(Exception, match="1 of its runs are whole, and it takes two"):
        axis_of(sourced_run(database, 1))


async def test_a_run_in_which_a_target_is_missing_is_left_out(database):
    readings = [one for one in axis_readings(1) if one[1] != 9]
    await keep(database, "axis-test", AXIS_STUDY, readings, 1)
    found = axis_of(sourced_run(database, 1))
    assert (found.runs, found.left_out) == (4, 1)
    assert "1 run left out" in AXIS.text(found)


async def test_accuracy_is_told_with_the_uncertainty_of_a_calibrated_indicator(database):
    text = AXIS_STUDY.replace("runs: 5}", "runs: 5, calibrated_u_mm: 0.002}")
    await keep(database, "axis-test", text, axis_readings(1), 1)
    found = axis_of(sourced_run(database, 1))
    assert found.accuracy is not None
    assert found.accuracy.u_mm == 0.002
    told = " ".join(AXIS.text(found).split())
    assert "standard uncertainty is 0.002 mm" in told
    assert "not said" not in told


@pytest.mark.parametrize("sign", [1, -1])
async def test_two_gauges_differ_by_what_they_do(database, sign):
    await keep(database, "gauge-comparison", GAUGE_STUDY, gauge_readings(sign), sign)
    found = gauges_of(sourced_run(database, 1))
    assert (found.first.name, found.first.resolution_mm) == ("probe", 0.0025)
    assert (found.second.name, found.second.resolution_mm) == ("typed", 0.01)
    assert [one.pairs for one in found.points] == [8, 8]
    for one in found.points:
        assert one.mean.low <= APART_MM <= one.mean.high
    assert found.apart is not None
    assert found.apart.low == 0.0


async def test_gauges_that_differ_more_at_one_point_are_told_apart(database):
    readings = [(*one[:4], one[4] + 0.05 * (one[0] == 3), one[5]) for one in gauge_readings(1)]
    await keep(database, "gauge-comparison", GAUGE_STUDY, readings, 1)
    found = gauges_of(sourced_run(database, 1))
    assert found.apart is not None
    assert 0.0 < found.apart.low <= 0.05 <= found.apart.high
    assert "Not by the same everywhere" in GAUGES.text(found)


async def test_a_reading_without_its_other_one_is_left_out(database):
    readings = list(gauge_readings(1))[:-1]
    await keep(database, "gauge-comparison", GAUGE_STUDY, readings, 1)
    found = gauges_of(sourced_run(database, 1))
    assert (len(found.pairs), found.left_out) == (15, 1)


@pytest.mark.parametrize(
    ("kind", "text", "readings", "question"),
    [
        ("axis-test", AXIS_STUDY, axis_readings, "axis"),
        ("gauge-comparison", GAUGE_STUDY, gauge_readings, "gauges"),
    ],
)
def test_shown_and_said_again_from_its_report(
    kind, text, readings, question, database, tmp_path, capsys
):
    asyncio.run(keep(database, kind, text, readings(1), 1))
    at = ["--database", str(database)]
    assert main(["analyse", "1", "--json", *at]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert shown["question"] == question
    page = tmp_path / "r.html"
    assert main(["report", "1", "-o", str(page), *at]) == 0
    capsys.readouterr()
    assert main(["analyse", str(page), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    for key in ("name", "title", "notes", "cautions", "complete"):
        shown.pop(key, None)
        again.pop(key, None)
    assert again == shown
    assert main(["show", "1", *at]) == 0
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 79
