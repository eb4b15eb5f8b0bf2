"""What is said of a tolerance where readings don't look normal: only a count may say it."""

import json

import pytest
from told_cases import analysed, rig_check, study

from hostctl.metrology.claims.looks import ONE_LOOK
from hostctl.metrology.oddities.normal_law import NormalLaw
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.told.normal_law import how_checked
from hostctl.report.document.as_text import as_text
from hostctl.report.sources.looks import UNRECORDED, Looking
from hostctl.report.sources.material import Block, Goal

AROUND = (0.01, 0.0, -0.01, 0.0, -0.02, 0.01, 0.02, 0.0, -0.01, 0.01)
HEAPS = (0.0, 0.06, 0.01, -0.01, 0.07, 0.0, 0.01, 0.06)


def block(values_mm):
    return Block(
        method="paper-slip", operator="helper-1", point="front-left", values_mm=list(values_mm)
    )


def of(*blocks, within_mm=0.05, rig=None, look=UNRECORDED, **changes):
    material = study(blocks=tuple(map(block, blocks)), goal=Goal(within_mm=within_mm), **changes)
    return analysed(material, rig, look=look)


def verdict_of(analysis):
    return analysis.results[0].verdict


def text_of(analysis, *, explained=False):
    return " ".join(as_text(ANALYSIS.document(analysis, explained)).split())


def test_two_heaps_are_not_said_to_meet_by_the_normal_law():
    only = Looking(looks=ONE_LOOK)
    analysis = of(HEAPS * 2, within_mm=0.2, reference="datum", look=only)
    verdict = verdict_of(analysis)
    assert verdict.half_width.high == float("inf")
    assert (verdict.verdict, verdict.decided_by) == ("cannot tell yet", "count")
    assert "they lie in two heaps" in text_of(analysis)
    assert "there are 16, and that shows it from 99 in one block on." in text_of(analysis)


def test_where_more_looks_may_come_the_number_named_is_the_next_looks():
    said = text_of(of(HEAPS * 2, within_mm=0.2, reference="datum"))
    assert "shows it from 139 in one block on, at the next look, which has less of the" in said


def test_normal_readings_are_judged_by_the_normal_law():
    analysis = of(AROUND * 2, within_mm=0.06)
    assert (verdict_of(analysis).verdict, verdict_of(analysis).decided_by) == (
        "meets",
        "normal law",
    )
    assert "nor a departure from the normal law" in text_of(analysis)


@pytest.mark.parametrize("rig", [None, rig_check()])
def test_an_outlier_neither_meets_nor_fails_by_the_normal_law(rig):
    verdict = verdict_of(of((*AROUND, 0.3), within_mm=0.05, rig=rig))
    assert (verdict.verdict, verdict.decided_by) == ("cannot tell yet", "count")
    assert verdict.further_trials is None


def test_so_many_within_that_an_outlier_may_be_left_out_meet_about_their_average():
    analysis = of((*AROUND * 18, 0.3), within_mm=0.05)
    verdict = verdict_of(analysis)
    assert (verdict.verdict, verdict.decided_by) == ("meets", "count")
    assert verdict.centre == "each block's own long-run mean"
    assert verdict.half_width.high == 0.05
    assert "the 2 farthest left out" in text_of(analysis)


def test_about_a_datum_the_count_is_of_settings_near_it():
    readings = (*AROUND * 12, 0.3)
    from_datum = of(readings, reference="datum", zero_known=True)
    assert (verdict_of(from_datum).verdict, verdict_of(from_datum).centre) == (
        "meets",
        "the datum",
    )
    off = of([value + 0.2 for value in readings], reference="datum", zero_known=True)
    assert verdict_of(off).verdict == "cannot tell yet"  # without a rig check nothing fails


def test_where_few_lie_in_any_band_it_does_not_meet_with_a_rig_check_alone():
    far = [0.0, 0.01, 0.5, 0.51] * 6
    assert verdict_of(of(far)).verdict == "cannot tell yet"
    judged = of(far, rig=rig_check())
    assert (verdict_of(judged).verdict, verdict_of(judged).decided_by) == (
        "does not meet",
        "count",
    )
    assert "rig and graduations allowed for" in text_of(judged, explained=True)


def test_differences_can_not_be_counted():
    verdict = verdict_of(of((*AROUND * 3, 0.4), reference="previous"))
    assert verdict.verdict == "cannot tell yet"
    assert verdict.why.code == "law doubted, differences"


def test_of_too_few_it_is_said_that_nothing_was_checked():
    analysis = of((0.0, 0.01, -0.02, 0.01), within_mm=0.5)
    assert (verdict_of(analysis).verdict, verdict_of(analysis).decided_by) == (
        "meets",
        "normal law",
    )
    assert "Whether settings scatter normally can't be told" in text_of(analysis)
    assert "nor a departure" not in text_of(analysis)
    assert list(how_checked(analysis.results)) == []


def test_the_data_say_how_it_was_decided_and_what_was_seen():
    data = json.loads(json.dumps(ANALYSIS.data(of(HEAPS * 2, reference="datum")), allow_nan=False))
    result = data["results"][0]
    assert result["law"]["departures"] == ["two heaps"]
    assert (result["verdict"]["decided_by"], result["verdict"]["half_width"]["high"]) == (
        "count",
        None,
    )


def test_how_often_what_is_noticed_is_told_with_the_figures_of_the_table():
    analysis = of(AROUND * 2)
    assert isinstance(analysis.results[0].law, NormalLaw)
    told = text_of(analysis, explained=True)
    assert "heavy tails (Student's t, 5 degrees of freedom) are noticed in about 3 %" in told
    assert "not doubted" in told
