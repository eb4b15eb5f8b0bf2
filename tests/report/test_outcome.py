"""What a report comes to in short: the same marks and sentences as the report's own document."""

import json
from typing import Any

import pytest
from told_cases import (
    WAYS,
    analysed,
    levelled,
    one_method,
    rig_check,
    study,
    tied,
)

from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.document.blocks import Role
from hostctl.report.document.question import Question
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.outcome import as_data, outcome_of


def outcome(question: Question[Any], result: Any, kind: str) -> dict[str, Any]:
    """As the page takes it."""
    document = question.document(result, True)
    told = as_data(outcome_of(document, kind, result))
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert told["cautions"] == document.said(Role.CAUTION)
    assert len(told["answer"]) == len(document.said(Role.ANSWER))
    return told


def test_of_a_comparison_every_setting_is_a_dot_and_what_would_decide_comes_next():
    result = analysed(study(), rig_check())
    told = outcome(ANALYSIS, result, "comparison")
    rows = told["drawn"]["rows"]
    assert [row["label"] for row in rows] == [one.operator for one in result.results]
    dots = [sum(dot["count"] for dot in row["dots"]) for row in rows]
    assert dots == [one.settings for one in result.results]
    assert told["drawn"]["within_mm"] == result.goal.within_mm
    further = [one.verdict.further_trials for one in result.results]
    assert f"Up to {max(filter(None, further))} more trials" in told["next_steps"][0]
    assert "what follows" not in " ".join(told["answer"])


def test_of_gaps_rows_have_their_mean_about_what_they_are_meant_to_set():
    result = tied(WAYS)
    told = outcome(ANALYSIS, result, "comparison")["drawn"]
    for row, found in zip(told["rows"], result.trueness, strict=True):
        assert row["about_mm"] == found.meant_mm
        gap = found.mean_gap
        assert row["mean"] == {"value_mm": gap.value, "low_mm": gap.low, "high_mm": gap.high}


def test_of_a_levelling_it_is_the_bed_of_the_last_round():
    result = levelled()
    told = outcome(LEVELLING, result, "level")
    heights = {one["point"]: one["height_mm"] for one in told["drawn"]["heights"]}
    assert heights == {one.point: one.height_mm for one in result.last.heights}
    assert told["question"].endswith("?")
    assert len(told["next_steps"]) == 1


@pytest.mark.parametrize(
    ("result", "kind", "says"),
    [
        (lambda: analysed(rig_check()), "rig-check", "a study of methods"),
        (lambda: one_method((0.0, 0.01, 0.0)), "comparison", "a rig check, so that"),
        (lambda: analysed(study(), rig_check()), "probe-loop", None),
    ],
)
def test_what_comes_next_follows_from_the_kind(result, kind: str, says: str | None):
    steps = outcome(ANALYSIS, result(), kind)["next_steps"]
    assert (says is None and steps == []) or says in steps[0]
