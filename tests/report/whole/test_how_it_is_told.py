"""What the report says is true of the data at hand, and its numbers are those of the JSON."""

import json
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta
from functools import cache
from math import isfinite
from typing import Any

import jsonschema
import pytest
from reported import NOON, random_report, reported
from told_cases import rig_check, ring, study

from hostctl.config.study_kind import words_of
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.blocks import Block as Part
from hostctl.report.document.blocks import Document, Figure, Fold, Heading, Role
from hostctl.report.enclosed.enclosure import RigCheck
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.report.whole.document import REPORT
from hostctl.report.whole.result import Conduct, Left, Report

SEEDS = range(40)
VALIDATOR = jsonschema.Draft202012Validator(REPORT.schema())


def one_method(*blocks: tuple[float, ...], **changes: Any) -> Report:
    """Of one method in nobody's hands."""
    known = {"blocks": tuple(_block(values) for values in blocks), "notes": ()}
    return reported(study(**known | changes))


def _block(values_mm: tuple[float, ...]) -> Block:
    return Block(method="slip", operator="", point="left", values_mm=list(values_mm))


def told(report: Report) -> Document:
    return REPORT.document(report, True)


def question_of(report: Report) -> str:
    (question,) = told(report).said(Role.QUESTION)
    return question


def says(report: Report, figure: str) -> str:
    return told(report).figures()[figure].says


def text_of(report: Report) -> str:
    return " ".join(REPORT.text(report).split())


def headings(report: Report) -> list[str]:
    return [
        block.text
        for block in told(report).blocks
        if isinstance(block, Heading) and block.level < 2
    ]


# ------------------------------------------------------------ any study


@cache
def of_seed(seed: int) -> tuple[Report, Document, dict[str, Any]]:
    report = random_report(seed)
    return report, told(report), REPORT.data(report)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_study_is_told_and_its_data_fit_the_schema(seed: int):
    report, document, data = of_seed(seed)
    VALIDATOR.validate(json.loads(json.dumps(data, allow_nan=False)))
    assert as_markdown(document).count("\n## ") == 0
    assert REPORT.text(report)
    names = [figure.name for figure in figures_in(document.blocks)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_number_of_a_figure_is_in_the_json(seed: int):
    _, document, data = of_seed(seed)
    known = set(map(_same, numbers_in(data)))
    known |= {_same(1.0 / one) for one in numbers_in(data) if one}  # the margin's other side
    known |= {_same(1.0 - one) for one in numbers_in(data)}  # the share of hand and method
    known |= {_same(-one) for one in numbers_in(data)}  # the other side of a limit about 0
    for figure in document.figures().values():
        strange = set(map(_same, numbers_in(figure.drawing))) - known
        assert not strange - set(map(_same, _counts(figure))), figure.name


def _counts(figure: Figure) -> Iterator[float]:
    """Places and numbers of stretches are whole numbers that count marks."""
    yield from (one for one in numbers_in(figure.drawing) if one == int(one))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_fraction_in_a_figures_sentence_rounds_one_in_the_json(seed: int):
    _, document, data = of_seed(seed)
    known = [abs(one) for one in numbers_in(data)]
    for figure in document.figures().values():
        for written in re.findall(r"\d+\.\d+", figure.says):
            half = 0.5 * 10.0 ** -len(written.partition(".")[2]) * (1 + 1e-6)
            assert any(abs(one - float(written)) <= half for one in known), (figure.name, written)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_bar_stands_to_the_limit_as_its_sentence_has_it(seed: int):
    report, document, _ = of_seed(seed)
    goal = report.analysis.goal
    for result in report.analysis.results:
        verdict = result.verdict
        if goal is None or not isinstance(verdict, Verdict) or verdict.decided_by == "count":
            continue
        low, high = verdict.half_width.low, verdict.half_width.high
        stands = {
            "meets": high <= goal.within_mm + 1e-9,
            "does not meet": low > goal.within_mm - 1e-9,
            "cannot tell yet": verdict.beyond_with_rig == (low > goal.within_mm),
        }
        assert stands[verdict.verdict]
        assert result.name in document.figures()["tolerance"].says


@pytest.mark.parametrize("seed", SEEDS)
def test_the_json_has_the_answer_and_the_cautions_of_the_page(seed: int):
    _, document, data = of_seed(seed)
    assert data["answer"] == " ".join(document.said(Role.ANSWER))
    assert data["cautions"] == document.said(Role.CAUTION)


def figures_in(blocks: tuple[Part, ...]) -> Iterator[Figure]:
    for block in blocks:
        if isinstance(block, Figure):
            yield block
        elif isinstance(block, Fold):
            yield from figures_in(block.blocks)


def numbers_in(value: object) -> Iterator[float]:
    match value:
        case bool() | str() | None:
            return
        case int() | float():
            if isfinite(value):
                yield float(value)
        case dict():
            for item in value.values():
                yield from numbers_in(item)
        case list() | tuple():
            for item in value:
                yield from numbers_in(item)
        case _ if is_dataclass(value):
            for field in fields(value):
                yield from numbers_in(getattr(value, field.name))


def _same(value: float) -> float:
    return float(f"{value:.9g}")


# ------------------------------------------------------------ the first screen


def test_several_methods_are_asked_about_by_their_names_and_hands():
    assert question_of(reported(study())) == (
        "Which of light or slip repeats a setting to within ±0.05 mm, in the hands of helper-1 "
        "and helper-2?"
    )


def test_eight_methods_are_asked_about_by_their_number():
    blocks = tuple(
        Block(method=f"way-{n}", operator="", point="left", values_mm=[0.0, 0.01, 0.02, 0.01])
        for n in range(8)
    )
    assert question_of(reported(study(blocks=blocks))).startswith("Which of 8 methods repeats")


def test_one_method_in_several_hands_is_asked_by_whose():
    blocks = tuple(
        Block(method="slip", operator=name, point="left", values_mm=[0.0, 0.01, 0.02, 0.01])
        for name in ("helper-1", "helper-2")
    )
    assert question_of(reported(study(blocks=blocks))) == (
        "In whose hands, helper-1 or helper-2, does slip repeat a setting to within ±0.05 mm?"
    )


def test_from_a_datum_it_is_the_gap_that_is_asked_about():
    assert question_of(one_method((0.0, 0.01), reference="datum", zero_known=True)) == (
        "Does slip set the gap to within ±0.05 mm of the datum?"
    )


def test_without_a_tolerance_the_question_is_how_widely():
    report = reported(study(goal=None))
    assert question_of(report).startswith("How widely do settings by light and slip")
    assert "Is it good enough?" not in headings(report)


def test_a_rig_check_is_asked_after_its_readings():
    assert question_of(reported(rig_check())) == (
        "How widely do readings with nothing adjusted scatter?"
    )


def test_a_probe_is_asked_after_its_touches():
    values = [0.0, 0.0025, 0.005, 0.0, 0.0025, 0.0]
    block = Block(method="", operator="", point="left", values_mm=values)
    report = reported(
        study(kind="probe-loop", reference="datum", resolution_mm=0.0025, blocks=(block,))
    )
    assert question_of(report) == "Do touches of the probe repeat to within ±0.05 mm?"
    assert "from the gauge's own zero" in says(report, "blocks")


def test_the_count_names_each_method_over_all_hands():
    report = reported(study(reference="datum", zero_known=True))
    assert [(one.method, one.inside, one.of) for one in report.counts] == [
        ("light", 24, 24),
        ("slip", 17, 24),
    ]
    assert (
        "24 of 24 readings by light lay within ±0.05 mm of the datum, rig included, 17 of 24 by "
        "slip: that describes these trials and promises nothing."
    ) in text_of(report)


def test_of_many_methods_the_count_names_the_best_and_the_worst():
    blocks = tuple(
        Block(method=f"way-{n}", operator="", point="left", values_mm=[0.02 * n, -0.02 * n] * 3)
        for n in range(6)
    )
    report = reported(study(reference="datum", zero_known=True, blocks=blocks))
    assert "by 6 methods, from 0 of 6 (way-3) to 6 of 6 (way-0) lay within" in text_of(report)


def test_without_a_tolerance_the_count_is_how_far_they_reached():
    report = one_method((0.0, 0.04, -0.01), goal=None)
    assert "From lowest to highest, 4 settings reached over 0.0500 mm:" in text_of(report)


def test_whose_settings_lie_outside_is_said_under_the_dots():
    report = reported(study(reference="datum", zero_known=True))
    assert says(report, "readings").endswith(
        "7 of 48 lie outside the band of ±0.05 mm, all of slip by helper-2."
    )


def test_a_single_reading_is_not_said_to_lie_near_its_own_average():
    report = one_method((0.01,), reference="datum")
    assert "1 of 1 readings" not in text_of(report)
    assert says(report, "readings").endswith("with one in each block, each is its own average.")


def test_differences_are_not_called_settings_and_none_is_counted_outside():
    report = one_method((0.01, -0.02, 0.2, -0.2, 0.02, -0.01), reference="previous")
    assert report.counts == ()
    assert not any(one.outside for row in report.analysis.rows for one in row.values)
    assert says(report, "readings").startswith("Each difference, rig included, by its distance")


# ------------------------------------------------------------ question by question


def test_the_rig_stands_beside_the_spreads():
    report = reported(study(), rig=rig_check())
    drawing = told(report).figures()["spreads"].drawing
    assert [row.label for row in drawing.rows if row.lesser] == ["rig, run 1"]  # type: ignore[attr-defined]
    assert "the rig itself, s = 0.0064 mm" in says(report, "spreads")


def test_what_rounding_hides_is_told_only_where_it_hides_something():
    coarse = one_method((0.0,) * 9)
    fine = one_method((0.0, 0.05, -0.04, 0.09, -0.07, 0.03))
    assert "What does the rounding hide?" in headings(coarse)
    assert "What does the rounding hide?" not in headings(fine)
    spread = coarse.analysis.results[0].spread
    assert isinstance(spread, RoundedSpread)
    assert says(coarse, "rounding").endswith(
        f"the true s of slip is 0 to {spread.interval.high:.4f} mm (95 %), where readings taken as "
        "exact would say 0 to 0.0000 mm."
    )


def test_a_bar_beyond_the_limit_with_the_rig_in_it_is_said_to_have_it():
    wide = one_method((0.2, -0.2, 0.3, -0.1, 0.25, -0.3, 0.1, -0.25), goal=Goal(within_mm=0.02))
    assert "Beyond it, but with the rig in, so that it cannot be told yet: slip." in says(
        wide, "tolerance"
    )


def test_a_verdict_by_a_count_is_not_told_from_its_bar():
    values = (0.0, 0.06, 0.01, -0.01, 0.07, 0.0, 0.01, 0.06) * 2
    heaps = one_method(values, reference="datum")
    assert "Not normal, so only a count can tell, and can't yet: slip." in says(heaps, "tolerance")


def test_many_pairs_are_drawn_where_they_are_told_and_listed_all():
    blocks = tuple(
        Block(
            method=f"way-{n}",
            operator="",
            point="left",
            values_mm=[0.01 * ((n * j * 7 + j * j) % (n + 2) - 1) for j in range(12)],
        )
        for n in range(12)
    )
    report = reported(study(blocks=blocks))
    assert report.analysis.compared is not None
    told_apart = [one for one in report.analysis.compared.pairs if one.standing != "cannot tell"]
    assert says(report, "comparison").endswith(f"Drawn are {len(told_apart)} of 66 pairs.")


def test_what_the_rig_makes_of_a_spread_is_drawn_as_shares_of_one():
    report = reported(study(), rig=rig_check())
    for bar in told(report).figures()["shares"].drawing.bars:  # type: ignore[attr-defined]
        assert sum(bar.shares) == pytest.approx(1.0)


def test_a_drift_is_said_beside_the_order():
    rising = one_method(tuple(0.02 * n for n in range(12)), reference="datum")
    assert "More than chance has it, there is slip: drift" in says(rising, "order")


def test_too_few_settings_are_not_said_to_show_no_trend():
    assert says(one_method((0.01,)), "order").endswith(
        "too few to say whether time has a part in it."
    )


def test_workshops_out_of_line_are_named_with_their_limit():
    report = _of_files(ring(reference="datum", zero_known=True))
    (found,) = report.analysis.workshops
    assert f"beyond the limit of {found.k_limit:.2f}: school." in says(report, "workshops")
    assert f"beyond the limit of {found.h_limit:.2f}: school." in says(report, "workshop-means")


def _of_files(material: Material) -> Report:
    """Each block as a file of its own."""
    files = [
        replace(material, name=f"{one.workshop}.csv", machine=one.workshop, blocks=(one,))
        for one in material.blocks
    ]
    return reported(*files)


def _checks(*spreads_mm: float) -> list[RigCheck]:
    return [
        RigCheck(
            name=f"run {n}",
            at=NOON + timedelta(weeks=n),
            n=21,
            sd_mm=sd_mm,
            df=20.0,
            resolution_mm=0.001,
            mean_mm=None,
        )
        for n, sd_mm in enumerate(spreads_mm, start=1)
    ]


def test_the_rigs_history_is_told_from_two_checks_on():
    asked = "Is the rig still what it was?"
    one = reported(study(), checks=_checks(0.006))
    two = reported(study(), checks=_checks(0.006, 0.0055))
    assert one.history is None
    assert asked not in headings(one)
    assert asked in headings(two)
    assert REPORT.data(one)["answer"] == REPORT.data(two)["answer"]


def test_what_more_settings_would_do_is_told_in_mm_of_the_largest_spread():
    report = reported(study())
    assert report.foresight.s_mm == pytest.approx(0.0693, abs=5e-5)
    assert "After 3 settings the true spread lies anywhere from 0.52 to 6.3 times" in text_of(
        report
    )
    assert "were s that of slip by helper-2, 0.0693, mm" in text_of(report)


# ------------------------------------------------------------ how it was done


def _conduct(*left: Left) -> Conduct:
    return Conduct(
        name="run 2",
        study="small",
        kind="comparison",
        machine="bench",
        program="hostctl 0.1.0",
        seed="7",
        started_at=NOON,
        ended_at=None,
        complete=False,
        end_reason="",
        planned=None,
        bed_c=(21.0, 22.5),
        nozzle_c=None,
        left=left,
    )


def test_a_run_whose_files_are_gone_is_told_without_them():
    report = replace(reported(study()), conduct=(_conduct(),))
    said = text_of(report)
    assert "their files can't be read by this version" in said
    assert "21.0 to 22.5 °C" in said
    assert "No trial was void, skipped or done again, and nothing held the run." in said
    assert "cycle" not in told(report).figures()


def test_every_trial_left_out_is_listed_with_its_reason():
    left = Left(what="void", where="block 1, trial 2", why="paper moved", at=NOON)
    said = text_of(replace(reported(study()), conduct=(_conduct(left),)))
    assert re.search(r"void +block 1, trial 2 +paper moved", said)


def test_the_hash_is_said_to_be_no_signature():
    report = reported(study())
    said = text_of(report).replace(" ", "")
    assert f"SHA-256ofthedata:{report.enclosed.sha256}.".replace(" ", "") in said
    assert "it is no signature" in text_of(report)


@pytest.mark.parametrize("kind", ["comparison", "rig-check", "probe-loop"])
def test_cautions_stand_before_the_tables(kind: str):
    blocks = tuple(_block((0.0, 0.01, 0.02, 0.01)) for _ in range(2))
    report = reported(study(kind=kind, blocks=blocks))
    assert headings(report)[0] == "Before believing it"
    assert words_of(kind).people_set is not report.analysis.source.nobody_set


def test_names_with_markup_are_words_in_every_layout():
    name = "<script>alert(1)</script>"
    report = reported(
        study(blocks=(Block(method=name, operator="**b**", point="|", values_mm=[0.0, 0.01]),))
    )
    from hostctl.report.document.as_html import as_html

    assert "<script" not in as_html(told(report))
    assert "**b**" not in as_markdown(told(report)).split("```")[0]
