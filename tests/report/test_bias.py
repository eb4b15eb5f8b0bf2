"""Mean settings compared: what the report says is what scipy and published examples say."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.sources.material import Block, Goal, Material

SLEEP = json.loads((Path(__file__).parents[1] / "data" / "spreads" / "tost_sleep.json").read_text())
H = 0.01
PAPER = [0.06, 0.02, 0.05, 0.08, 0.03, 0.07, 0.05, 0.04]
LIGHT = [0.00, 0.01, -0.02, 0.02, 0.01, 0.03]
GAUGE = [0.03, 0.01, 0.02, -0.01, 0.04, 0.02, 0.00]

Blocks = Mapping[str, Sequence[Sequence[float]]]
"""Readings of each block, by the point."""


def blocks(method: str, operator: str, points: Blocks) -> list[Block]:
    return [
        Block(method=method, operator=operator, point=point, values_mm=list(values))
        for point, several in points.items()
        for values in several
    ]


def analysed(*several: list[Block], tolerance: float | None = None, **changes: Any) -> Analysis:
    known: dict[str, Any] = {
        "name": "test",
        "title": "a test",
        "kind": "",
        "machine": "",
        "reference": "datum",
        "zero_known": True,
        "resolution_mm": H,
        "resolution_from": "told",
        "blocks": tuple(block for some in several for block in some),
        "goal": None if tolerance is None else Goal(within_mm=tolerance),
        "notes": (),
    }
    return analyse(Material(**known | changes), None, Wish())


def flat(analysis: Analysis) -> str:
    return " ".join(ANALYSIS.text(analysis, explained=True).split())


def two(paper: Blocks, light: Blocks, **changes: Any) -> Analysis:
    return analysed(blocks("paper", "a", paper), blocks("light", "a", light), **changes)


def only(analysis: Analysis) -> dict[str, Any]:
    (bias,) = ANALYSIS.data(analysis)["biases"]
    return bias


def agrees(found: dict[str, Any], theirs: Any) -> None:
    """With a t test of scipy's: t, degrees of freedom, p and interval."""
    assert found["test"]["statistic"] == pytest.approx(theirs.statistic, rel=1e-4)
    assert found["test"]["df"] == pytest.approx([theirs.df], rel=1e-4)
    assert found["test"]["p_value"] == pytest.approx(theirs.pvalue, rel=1e-4)
    interval = theirs.confidence_interval(0.95)
    ends = found["estimate"]["interval"]
    assert (ends["low"], ends["high"]) == pytest.approx((interval.low, interval.high), rel=1e-4)


def test_one_block_each_is_welchs_test_of_the_readings():
    found = only(two({"p": [PAPER]}, {"p": [LIGHT]}))
    assert (found["first"], found["second"], found["fixed"]) == ("light", "paper", "a")
    assert found["found"]["unit"] == "readings"
    agrees(found["found"], stats.ttest_ind(LIGHT, PAPER, equal_var=False))
    assert found["found"]["test"]["how"] == "Welch's t test, two-sided"
    assert found["standing"] == "lower"


def test_a_published_example_comes_out_of_the_report():
    # Student's sleep data by Welch's test: the source stands in the file
    drugs = [SLEEP["data"]["group1"], SLEEP["data"]["group2"]]
    analysis = two({"p": [drugs[1]]}, {"p": [drugs[0]]}, resolution_mm=0.1)
    said, published = flat(analysis), SLEEP["published"]
    assert f"t = −{-published['t']} on {published['df']} degrees of freedom, p = 0.079" in said
    assert "cannot tell yet which of light and paper sets higher" in said
    assert "(difference −1.5800 mm, 95 %: −3.3655 to +0.2055 mm, from 10 and 10 readings)" in said


def test_several_blocks_at_one_point_count_once_each():
    paper = [[0.06, 0.05, 0.07], [0.03, 0.04], [0.05, 0.06, 0.06, 0.05]]
    light = [[0.01, 0.02], [0.02, 0.02, 0.01], [0.00, 0.01], [0.03, 0.02]]
    found = only(two({"p": paper}, {"p": light}))["found"]
    assert found["unit"] == "blocks"
    means = [[sum(block) / len(block) for block in several] for several in (light, paper)]
    agrees(found, stats.ttest_ind(*means, equal_var=False))


POINTS = ("front-left", "front-right", "back-left")
SHAPE = dict(zip(POINTS, (0.0, 0.4, -0.3), strict=True))


def shaped(readings: Sequence[Sequence[float]], shape: Mapping[str, float]) -> Blocks:
    pairs = zip(POINTS, readings, strict=True)
    return {point: [[shape[point] + value for value in values]] for point, values in pairs}


PAPER_AT = ([0.05, 0.07], [0.06, 0.04, 0.05], [0.07, 0.09])
LIGHT_AT = ([0.01, 0.02], [0.02, 0.03], [0.01, 0.02, 0.03])


@pytest.mark.parametrize("shape", [SHAPE, dict.fromkeys(POINTS, 0.0)], ids=["warped", "flat"])
def test_points_are_compared_one_by_one_and_the_beds_shape_does_not_count(shape):
    found = only(two(shaped(PAPER_AT, shape), shaped(LIGHT_AT, shape)))["found"]
    assert found["unit"] == "points"
    means = [[sum(values) / len(values) for values in several] for several in (LIGHT_AT, PAPER_AT)]
    agrees(found, stats.ttest_rel(*means))
    assert found["test"]["how"] == "Student's t test, two-sided"


def test_a_point_that_only_one_has_is_left_out():
    flat_bed = dict.fromkeys(POINTS, 0.0)
    both = only(two(shaped(PAPER_AT, flat_bed), shaped(LIGHT_AT, flat_bed)))
    more = {**shaped(PAPER_AT, flat_bed), "middle": [[0.9, 0.8]]}
    assert only(two(more, shaped(LIGHT_AT, flat_bed)))["found"] == both["found"]


def test_methods_are_one_family_for_holm_and_hands_another():
    several = [("paper", "a", PAPER), ("light", "a", LIGHT), ("gauge", "a", GAUGE)]
    others = [("paper", "b", LIGHT), ("light", "b", PAPER)]
    analysis = analysed(*(blocks(m, o, {"p": [values]}) for m, o, values in several + others))
    pairs = ANALYSIS.data(analysis)["biases"]
    p = {(b["varied"], b["fixed"], b["first"]): (b["found"], b["adjusted_p"]) for b in pairs}
    assert len(pairs) == 6
    theirs = stats.ttest_ind(GAUGE, PAPER, equal_var=False).pvalue
    same = stats.ttest_ind(LIGHT, PAPER, equal_var=False).pvalue
    assert same < theirs
    # by hand: of four, the two smallest (alike) times 4, the next times 2
    assert p["method", "b", "light"][1] == pytest.approx(4 * same)
    gauge_paper = [b for b in pairs if (b["first"], b["second"]) == ("gauge", "paper")]
    assert gauge_paper[0]["adjusted_p"] == pytest.approx(2 * theirs)
    # and of two, both alike
    assert p["operator", "paper", "a"][1] == pytest.approx(2 * same)
    assert "By paper: a sets higher than b by 0.0417 mm" in flat(analysis)


@pytest.mark.parametrize(
    "changes",
    [{"reference": "first"}, {"reference": "previous"}, {"reference": "datum"}],
    ids=lambda changes: changes["reference"],
)
def test_without_a_datum_no_means_are_compared(changes):
    analysis = two({"p": [PAPER]}, {"p": [LIGHT]}, zero_known=False, **changes)
    assert ANALYSIS.data(analysis)["biases"] == []
    assert "Mean settings" not in ANALYSIS.text(analysis, explained=True)


@pytest.mark.parametrize("reference", ["first", "previous"])
def test_why_is_said(reference):
    analysis = two({"p": [PAPER]}, {"p": [LIGHT]}, zero_known=False, reference=reference)
    assert "settings scatter, not whether they are too high or too low" in flat(analysis)


def test_what_is_shown_to_be_within_the_tolerance_is_as_high():
    steps = [-0.02, 0.01, 0.00, 0.02, -0.01, 0.01, -0.01, 0.00, 0.02, -0.02]
    other = [0.01, -0.02, 0.00, 0.02, 0.01, -0.01, 0.02, 0.00, -0.01, 0.01]
    close, none = (two({"p": [steps]}, {"p": [other]}, tolerance=t) for t in (0.05, None))
    assert only(close)["standing"] == "alike"
    # two one-sided tests, scipy's: the larger p
    one_sided = [
        stats.ttest_ind([x + move for x in other], steps, equal_var=False, alternative=side).pvalue
        for move, side in ((0.05, "greater"), (-0.05, "less"))
    ]
    tests = only(close)["found"]["equivalence"]
    assert (tests["p_low"], tests["p_high"]) == pytest.approx(one_sided)
    assert "light and paper set as high, shown to be within 0.05 mm" in flat(close)
    assert only(none)["standing"] == "cannot tell"
    assert only(none)["found"]["equivalence"] is None


def test_what_rounding_could_make_is_called_no_difference():
    """All on one graduation may be nearly half of one off, and not a sign of it in s."""
    still, moving = [0.05] * 30, [0.05, 0.06, 0.06, 0.05, 0.06, 0.06] * 5
    analysis = two({"p": [still]}, {"p": [moving]}, tolerance=0.01)
    found = only(analysis)
    assert found["found"]["test"]["p_value"] < 0.001
    assert found["found"]["rounding_mm"] == pytest.approx(H)  # half for each
    assert found["standing"] == "cannot tell"
    assert found["found"]["equivalence"] is None  # nothing is left of so narrow a tolerance
    assert "a difference that this could make is not called one" in flat(analysis)
    coarse = only(two({"p": [[0.08] * 30]}, {"p": [moving]}))
    assert coarse["standing"] == "lower"


REASONS = {
    "no point in common": ({"p": [PAPER]}, {"q": [LIGHT]}),
    "a single block there": ({"p": [PAPER, PAPER]}, {"p": [LIGHT]}),
    "all readings say the same": ({"p": [[0.05] * 5]}, {"p": [[0.04] * 5]}),
    # 0.06 - 0.05 and 0.05 - 0.04 are not the same to a computer
    "all points say the same": (
        {"p": [[0.06] * 3], "q": [[0.05] * 3]},
        {"p": [[0.05] * 3], "q": [[0.04] * 3]},
    ),
    "1 given, at least 2 are needed": ({"p": [[0.05]]}, {"p": [LIGHT]}),
}


@pytest.mark.parametrize("reason", REASONS)
def test_what_cannot_be_told_says_why(reason: str):
    paper, light = REASONS[reason]
    analysis = two(paper, light)
    assert reason in only(analysis)["found"]["not_yet"]
    assert only(analysis)["standing"] == "cannot tell"
    said = flat(analysis)
    assert f"light and paper: cannot tell yet, {only(analysis)['found']['not_yet']}" in said
    assert "light − paper cannot tell yet" in said


def test_the_sums_can_be_done_again_by_hand():
    flat_bed = dict.fromkeys(POINTS, 0.0)
    said = flat(two(shaped(PAPER_AT, flat_bed), shaped(LIGHT_AT, flat_bed)))
    # by hand: differences -0.045, -0.025, -0.060; squares about -0.04333: 0.000617, over 2
    assert "mean of 3 differences −0.0433 mm, s of them 0.01756 mm" in said
    assert "mean / (s / √3) = −0.0433 / 0.01014: t = −4.274 on 2 degrees of freedom" in said
    one = flat(two({"p": [PAPER]}, {"p": [LIGHT]}))
    assert "means +0.0083 and +0.0500 mm of 6 and 8 readings, s 0.01722 and 0.02 mm" in one
