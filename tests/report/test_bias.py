"""Mean settings compared: what the report says is what scipy and published examples say.

Readings are written to so many digits that they are as good as points, but where rounding counts.
"""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
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


FINE = 1e-5
"""A resolution at which they are points, mm."""


def agrees_with_student(found: dict[str, Any], theirs: Any) -> None:
    """With a t test of one sample or of pairs, scipy's."""
    judged, interval = found["judged"], theirs.confidence_interval(0.95)
    assert judged["p_value"] == pytest.approx(theirs.pvalue, rel=0.03)
    ends = judged["interval"]["low"], judged["interval"]["high"]
    width = interval.high - interval.low
    assert ends == pytest.approx((interval.low, interval.high), abs=0.005 * width)


def agrees_with_fisher(found: dict[str, Any], first: Sequence[float], second: Sequence[float]):
    """With the law of Behrens and Fisher: each mean drawn from its own t, scipy's, many times."""
    rng = np.random.default_rng(3)
    drawn = [
        np.mean(sample) + stats.sem(sample) * rng.standard_t(len(sample) - 1, 400_000)
        for sample in (first, second)
    ]
    low, high = np.quantile(drawn[0] - drawn[1], (0.025, 0.975))
    ends = found["judged"]["interval"]["low"], found["judged"]["interval"]["high"]
    width = high - low
    assert ends == pytest.approx((low, high), abs=0.02 * width)
    above = np.mean(drawn[0] - drawn[1] > 0.0)
    assert found["judged"]["p_value"] == pytest.approx(2 * min(above, 1 - above), rel=0.1)


def test_one_block_each_compares_the_readings():
    found = only(two({"p": [PAPER]}, {"p": [LIGHT]}, resolution_mm=FINE))
    assert (found["first"], found["second"], found["fixed"]) == ("light", "paper", "a")
    assert found["found"]["unit"] == "readings"
    agrees_with_fisher(found["found"], LIGHT, PAPER)
    assert found["standing"] == "lower"


def test_rounding_makes_the_interval_somewhat_wider():
    fine, coarse = (
        only(two({"p": [PAPER]}, {"p": [LIGHT]}, resolution_mm=h))["found"]["judged"]["interval"]
        for h in (FINE, H)
    )
    ratio = (coarse["high"] - coarse["low"]) / (fine["high"] - fine["low"])
    assert 1.0 < ratio < 1.1


def test_a_published_example_comes_out_of_the_report():
    # Student's sleep data: the source stands in the file; by Welch 95 %: -3.3655 to 0.2055
    drugs = [SLEEP["data"]["group1"], SLEEP["data"]["group2"]]
    analysis = two({"p": [drugs[1]]}, {"p": [drugs[0]]}, resolution_mm=0.1)
    said = flat(analysis)
    assert "cannot tell yet which of light and paper sets higher" in said
    assert "(difference −1.5800 mm, 95 %: −3.4904 to +0.3304 mm, from 10 and 10 readings)" in said
    agrees_with_fisher(only(analysis)["found"], *drugs)


def test_several_blocks_at_one_point_count_once_each():
    paper = [[0.06, 0.05, 0.07], [0.03, 0.04], [0.05, 0.06, 0.06, 0.05]]
    light = [[0.01, 0.02], [0.02, 0.02, 0.01], [0.00, 0.01], [0.03, 0.02]]
    found = only(two({"p": paper}, {"p": light}, resolution_mm=FINE))["found"]
    assert found["unit"] == "blocks"
    means = [[sum(block) / len(block) for block in several] for several in (light, paper)]
    agrees_with_fisher(found, *means)


POINTS = ("front-left", "front-right", "back-left")
SHAPE = dict(zip(POINTS, (0.0, 0.4, -0.3), strict=True))


def shaped(readings: Sequence[Sequence[float]], shape: Mapping[str, float]) -> Blocks:
    pairs = zip(POINTS, readings, strict=True)
    return {point: [[shape[point] + value for value in values]] for point, values in pairs}


PAPER_AT = ([0.05, 0.07], [0.06, 0.04, 0.05], [0.07, 0.09])
LIGHT_AT = ([0.01, 0.02], [0.02, 0.03], [0.01, 0.02, 0.03])


@pytest.mark.parametrize("shape", [SHAPE, dict.fromkeys(POINTS, 0.0)], ids=["warped", "flat"])
def test_points_are_compared_one_by_one_and_the_beds_shape_does_not_count(shape):
    known = {"resolution_mm": FINE}
    found = only(two(shaped(PAPER_AT, shape), shaped(LIGHT_AT, shape), **known))["found"]
    assert found["unit"] == "points"
    means = [[sum(values) / len(values) for values in several] for several in (LIGHT_AT, PAPER_AT)]
    agrees_with_student(found, stats.ttest_rel(*means))


def test_a_point_that_only_one_has_is_left_out():
    flat_bed = dict.fromkeys(POINTS, 0.0)
    both = only(two(shaped(PAPER_AT, flat_bed), shaped(LIGHT_AT, flat_bed)))
    more = {**shaped(PAPER_AT, flat_bed), "middle": [[0.9, 0.8]]}
    found = only(two(more, shaped(LIGHT_AT, flat_bed)))["found"]
    assert found["samples"] == both["found"]["samples"]
    assert found["value"] == both["found"]["value"]


def test_methods_are_one_family_and_hands_another():
    several = [("paper", "a", PAPER), ("light", "a", LIGHT), ("gauge", "a", GAUGE)]
    others = [("paper", "b", LIGHT), ("light", "b", PAPER)]
    analysis = analysed(*(blocks(m, o, {"p": [values]}) for m, o, values in several + others))
    pairs = ANALYSIS.data(analysis)["biases"]
    p = {(b["varied"], b["fixed"], b["first"], b["second"]): b["found"]["judged"] for b in pairs}
    assert len(pairs) == 6
    alone = only(two({"p": [PAPER]}, {"p": [LIGHT]}))["found"]["judged"]["p_value"]
    # of four pairs of methods each p counts four times, of two pairs of hands twice
    of_methods = p["method", "a", "light", "paper"]
    assert of_methods["p_value"] == pytest.approx(4 * alone)
    assert of_methods["interval"]["confidence"] == pytest.approx(1 - 0.05 / 4)
    assert p["operator", "paper", "a", "b"]["p_value"] == pytest.approx(2 * alone, rel=0.02)
    assert "By paper: a sets higher than b by 0.0417 mm" in flat(analysis)
    for pair in pairs:
        interval = pair["found"]["judged"]["interval"]
        out = not interval["low"] <= 0.0 <= interval["high"]
        assert out is (pair["standing"] in ("higher", "lower"))


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
    # two one-sided tests by Welch, scipy's: the larger p; rounding makes ours no smaller
    welch = max(
        stats.ttest_ind([x + move for x in other], steps, equal_var=False, alternative=side).pvalue
        for move, side in ((0.05, "greater"), (-0.05, "less"))
    )
    assert welch <= only(close)["found"]["judged"]["p_beyond"] < 0.05
    assert "light and paper set as high, shown to be within 0.05 mm" in flat(close)
    assert only(none)["standing"] == "cannot tell"
    assert only(none)["found"]["judged"]["p_beyond"] is None


def test_what_rounding_could_make_is_called_no_difference():
    """All on one graduation may be nearly half of one off, and not a sign of it in s."""
    still, moving = [0.05] * 30, [0.05, 0.06, 0.06, 0.05, 0.06, 0.06] * 5
    analysis = two({"p": [still]}, {"p": [moving]}, tolerance=0.01)
    assert stats.ttest_1samp(moving, still[0]).pvalue < 0.001
    assert only(analysis)["standing"] == "cannot tell"
    wide = only(two({"p": [still]}, {"p": [moving]}, tolerance=0.03))
    assert wide["standing"] == "alike"
    coarse = only(two({"p": [[0.08] * 30]}, {"p": [moving]}))
    assert coarse["standing"] == "lower"


def test_readings_all_alike_are_compared_as_far_as_the_indicator_shows():
    beside = only(two({"p": [[0.05] * 30]}, {"p": [[0.04] * 30]}, tolerance=0.03))
    assert beside["standing"] == "alike"
    assert beside["found"]["judged"]["p_value"] > 0.5
    apart = only(two({"p": [[0.05] * 30]}, {"p": [[0.03] * 30]}))
    assert apart["standing"] == "lower"
    at_points = two({"p": [[0.06] * 3], "q": [[0.05] * 3]}, {"p": [[0.05] * 3], "q": [[0.04] * 3]})
    assert only(at_points)["standing"] == "cannot tell"
    assert "that rounding may have moved it" in flat(at_points)


REASONS = {
    "no point in common": ({"p": [PAPER]}, {"q": [LIGHT]}),
    "a single block there": ({"p": [PAPER, PAPER]}, {"p": [LIGHT]}),
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
    assert "light − paper cannot tell" in said


def test_the_sums_can_be_done_again_by_hand():
    flat_bed = dict.fromkeys(POINTS, 0.0)
    said = flat(two(shaped(PAPER_AT, flat_bed), shaped(LIGHT_AT, flat_bed)))
    # by hand: differences -0.045, -0.025, -0.060; squares about -0.04333: 0.000617, over 2
    assert "mean of 3 differences −0.0433 mm, s of them 0.01756 mm" in said
    assert "Student's t on 2 degrees of freedom, standard error s / √3 = 0.01014 mm" in said
    one = flat(two({"p": [PAPER]}, {"p": [LIGHT]}))
    assert "means +0.0083 and +0.0500 mm of 6 and 8 readings, s 0.01722 and 0.02 mm" in one
