"""What is told of the trials themselves: from where the ± is measured, counts, the rig's share."""

import re
from pathlib import Path

import pytest
from told_cases import analysed, rig_check, study

from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Inside
from hostctl.report.document.blocks import Role
from hostctl.report.sources.material import Block, Goal
from hostctl.report.sources.tables.table_file import Asked, table_material

GAPS_MM = (0.18, 0.2, 0.2, 0.21, 0.22, 0.19, 0.2, 0.2, 0.21, 0.19)


def of_one(*values_mm: float, **changes: object) -> Analysis:
    block = Block(method="slip", operator="", point="", values_mm=list(values_mm))
    known = {"kind": "", "reference": "datum", "blocks": (block,), "goal": Goal(within_mm=0.05)}
    return analysed(study(**known | changes))


def answer(analysis: Analysis) -> str:
    return " ".join(ANALYSIS.document(analysis, False).said(Role.ANSWER))


def test_without_a_datum_the_tolerance_is_measured_from_their_own_average():
    found = of_one(*GAPS_MM)
    assert found.results[0].measured_from == "own average"
    assert "within ±0.05 mm of their own average" in answer(found)
    assert "says nothing about the true gap" in answer(found)
    assert "meets, if settings scatter normally and independently: the band" in answer(found)


RAMP_MM = tuple(0.01 * k for k in range(20))


@pytest.mark.parametrize(
    ("within_mm", "says"),
    [
        (0.2, "meets, if settings scatter normally and independently, which drift, likeness of "),
        (0.13, "cannot tell yet, even if settings scatter independently, which drift, likeness of"),
        (0.05, "does not meet, if settings scatter independently, which drift, likeness of "),
    ],
)
def test_a_verdict_says_what_contradicts_it(within_mm: float, says: str):
    found = of_one(*RAMP_MM, goal=Goal(within_mm=within_mm), kind="probe-loop")
    assert found.results[0].order_shows == ("drift", "likeness of neighbours", "warm-up")
    assert says in answer(found)
    assert "warm-up contradict" in answer(found)
    text = " ".join(ANALYSIS.text(found).split())
    assert re.search(rf"{says.split(',')[0].removesuffix(' yet')}( \(\+\d+\))? \* 95 % in ±:", text)
    assert "*: settings are not independent" in text


def of_blocks(*blocks_mm: tuple[float, ...], **changes: object) -> Analysis:
    blocks = tuple(
        Block(method="slip", operator="", point="", values_mm=list(block)) for block in blocks_mm
    )
    return of_one(blocks=blocks, **changes)


APART_MM = [tuple(shift + value for value in GAPS_MM[:6]) for shift in (0.0, 0.1, 0.2)]


def test_blocks_far_apart_are_told_where_their_zero_should_be_one():
    found = of_blocks(*APART_MM)
    assert found.results[0].measured_from == "each block's own average"
    assert "within ±0.05 mm of each block's own average" in answer(found)
    assert "nor about how far blocks lie apart" in answer(found)
    (told,) = (one for one in ANALYSIS.data(found)["cautions"] if "farther apart" in one)
    assert told.startswith("slip: block means lie between +0.2000 and +0.4000 mm")


@pytest.mark.parametrize(
    "changes",
    [{"reference": "first"}, {"reference": "previous"}, {"own_zeros": True}, {"zero_known": True}],
)
def test_blocks_that_are_zeroed_anew_or_from_a_datum_lie_where_they_lie(changes: dict[str, object]):
    assert of_blocks(*APART_MM).results[0].blocks_apart is not None
    assert of_blocks(*APART_MM, **changes).results[0].blocks_apart is None


def test_nothing_is_said_to_be_unseen_that_was_not_looked_for():
    assert "was seen" not in ANALYSIS.text(of_one(0.2, 0.2))
    assert "• No drift was seen." in ANALYSIS.text(of_one(*(0.2,) * 5, 0.21))


def test_a_bound_is_no_uncertain_figure():
    assert of_one(0.2, 0.2).few is None
    assert of_one(0.2, 0.25).few is not None


def test_with_a_datum_it_is_measured_from_there():
    found = of_one(*GAPS_MM, zero_known=True)
    assert found.results[0].measured_from == "datum"
    assert "within ±0.05 mm of the datum" in answer(found)
    assert "true gap" not in answer(found)
    assert found.results[0].inside == Inside(inside=0, of=10)


@pytest.mark.parametrize(
    ("values_mm", "changes", "wanted"),
    [
        (GAPS_MM, {}, True),
        ([-value for value in GAPS_MM], {}, True),
        ((*GAPS_MM, 0.05), {}, False),
        (GAPS_MM, {"zero_known": True}, False),
        (GAPS_MM, {"reference": "first"}, False),
        (GAPS_MM, {"kind": "comparison"}, False),
        (GAPS_MM, {"goal": None}, False),
    ],
)
def test_a_target_is_asked_for_where_a_file_holds_gaps(
    values_mm: tuple[float, ...], changes: dict[str, object], wanted: bool
):
    found = of_one(*values_mm, **changes)
    assert found.target_wanted == wanted
    assert ("say --target" in answer(found)) == wanted


def test_what_is_advised_where_a_target_is_meant_judges_from_the_target(tmp_path: Path):
    path = tmp_path / "off.csv"
    path.write_text("off_mm\n" + "".join(f"{value - 0.2:.2f}\n" for value in GAPS_MM))
    found = analysed(table_material(path, Asked(reference="datum")), goal=Goal(within_mm=0.05))
    assert found.results[0].measured_from == "datum"
    assert not found.target_wanted


@pytest.mark.parametrize(
    ("values_mm", "reference", "inside"),
    [
        ((0.0, 0.1, 0.05, 0.05), "datum", Inside(inside=4, of=4)),  # two on the tolerance itself
        ((0.0, 0.12, 0.06, 0.06), "datum", Inside(inside=2, of=4)),
        ((0.12, 0.06, 0.06), "first", Inside(inside=2, of=4)),  # the block's zero is a setting
        ((0.0, 0.12, 0.06, 0.06), "previous", None),
    ],
)
def test_settings_within_the_tolerance_are_counted(
    values_mm: tuple[float, ...], reference: str, inside: Inside | None
):
    assert of_one(*values_mm, reference=reference).results[0].inside == inside


def test_the_rigs_share_is_that_of_the_variances_and_at_most_the_whole():
    found = analysed(study(reference="datum"), rig_check())
    assert found.rig is not None
    for result in found.results:
        rig, read = found.rig.spread.quoted.value, result.spread.quoted.value
        assert result.rig_share == pytest.approx(min(1.0, rig**2 / read**2))
    assert any(result.rig_share == 1.0 for result in found.results)


def test_without_a_rig_check_there_is_no_share():
    assert [one.rig_share for one in analysed(study()).results] == [None] * 4


def test_how_it_was_worked_out_stays_behind_explain():
    found = of_one(*GAPS_MM)
    heading = "How it was worked out"
    assert heading not in ANALYSIS.text(found)
    explained = ANALYSIS.text(found, explained=True)
    assert heading in explained
    assert explained.count("Sources: ") == 1
