"""Plans as they are told: tables against published figures, curves that can be read off."""

import json
from pathlib import Path

import pytest

from hostctl.metrology.claims.planning import PowerPoint, precision_of_sd
from hostctl.report.planning.curve import HEIGHT, WIDEST, curve, spread_out
from hostctl.report.planning.json import claim_json, know_json, overview_json, ratio_json
from hostctl.report.planning.overview import overview_text
from hostctl.report.planning.planning import (
    ROUND_NUMBERS,
    claim_about,
    overview_plans,
    plan_to_know,
    plan_to_prove,
    plan_to_see,
)
from hostctl.report.planning.text import (
    claim_text,
    duration,
    guessed_text,
    know_text,
    ratio_text,
)

CLAIM = claim_about(0.05, proportion=0.95, confidence=0.95, datum=False)


def test_knowing_a_spread_shows_the_published_multipliers():
    """σ lies within 0.69 s to 1.83 s after 10: common chi-square tables (from memory)."""
    text = know_text(plan_to_know(0.2, 0.95), None)
    assert text.startswith("49 trials tell a spread to within ±20 %")
    row = next(line for line in text.splitlines() if line.split()[:1] == ["10"])
    assert row.split()[-4:] == ["0.69", "s", "1.83", "s"]


def test_the_doubt_of_s_that_is_quoted_is_the_guides():
    """JCGM 100:2008, table E.1 (from memory): 52 % at 3, 24 % at 10."""
    found = [round(100 * precision_of_sd(n).relative_sd) for n in (3, 10)]
    assert found == [52, 24]
    assert "52 % from 3 trials, 24 % from 10" in know_text(plan_to_know(0.2, 0.95), None)


def test_seeing_a_ratio_says_the_trials_of_each_and_the_work_of_both():
    text = ratio_text(plan_to_see(2, 0.8, 0.05), 60)
    assert text.startswith("19 trials of each method")
    assert "about 38 min of work" in " ".join(text.split())


def test_a_claim_says_what_would_be_proven_and_under_which_truth():
    text = " ".join(claim_text(plan_to_prove(CLAIM, 0.015, 0.0, 0.8), None).split())
    assert text.startswith(
        "14 trials prove that at least 95 % of settings lie within ±0.05 mm of the method's own "
        "long-run mean (95 % confidence), in 80 % of studies, if the truth is a standard "
        "deviation of 0.015 mm."
    )


def test_a_claim_that_is_false_is_never_proven():
    plan = plan_to_prove(CLAIM, 0.03, 0.0, 0.8)
    assert claim_text(plan, None).startswith("No sensible number of trials proves it")
    assert claim_json(plan)["trials"] is None
    assert "can't be proven" in claim_json(plan)["why_no_trials"]


def test_a_bias_makes_the_same_claim_dearer():
    about_datum = claim_about(0.05, proportion=0.95, confidence=0.95, datum=True)
    near, far = (plan_to_prove(about_datum, 0.015, bias, 0.8).n for bias in (0.0, 0.015))
    assert isinstance(near, int)
    assert isinstance(far, int)
    assert near < far


@pytest.mark.parametrize("sd", [0.0, -1.0, float("nan"), float("inf")])
def test_a_spread_that_is_none_is_refused(sd: float):
    with pytest.raises(ValueError, match="above 0"):
        plan_to_prove(CLAIM, sd, 0.0, 0.8)


def test_the_answer_is_in_the_table_with_its_chance():
    plan = plan_to_see(1.5, 0.8, 0.05)
    by_n = {point.n: point.chance for point, _ in plan.rows}
    assert by_n[plan.n] >= 0.8
    assert set(by_n) - {plan.n} <= set(ROUND_NUMBERS)


CURVE = [PowerPoint(n=n, chance=chance) for n, chance in ((2, 0.0), (3, 0.45), (4, 0.8), (5, 1.0))]
DRAWN = """\
100 % ┤   █
 80 % ┤┄┄┄█
      ┤  ██
      ┤  ██
      ┤  ██
      ┤ ▄██
      ┤ ███
      ┤ ███
      ┤ ███
      ┤ ███
  0 % └──┴─
       2 4  trials"""


def test_a_curve_reads_off_to_an_eighth_of_a_row():
    assert curve(CURVE, goal=0.8, answer=4, what="trials") == DRAWN


@pytest.mark.parametrize("last", [2, 3, 30, 61, 500, 100_000])
def test_columns_are_spread_evenly_and_fit(last: int):
    columns = spread_out(last)
    assert columns[0] == 2
    assert columns[-1] == last
    assert len(columns) <= WIDEST
    assert sorted(set(columns)) == columns


@pytest.mark.parametrize("answer", [2, 3, 30, 54, 55])
def test_the_foot_marks_the_answer_wherever_it_lies(answer: int):
    points = [PowerPoint(n=n, chance=n / 55) for n in range(2, 56)]
    lines = curve(points, goal=0.5, answer=answer, what="trials").splitlines()
    assert len(lines) == HEIGHT + 2
    assert lines[-2].index("┴") == 7 + answer - 2


@pytest.mark.parametrize(
    "text",
    [
        overview_text(0.8, 0.95),
        know_text(plan_to_know(0.05, 0.99), 40),
        ratio_text(plan_to_see(1.1, 0.9, 0.01), 40),
        claim_text(plan_to_prove(CLAIM, 0.024, 0.0, 0.9), 40),
        guessed_text(overview_plans(0.8, 0.95)[2], 40),
    ],
    ids=["overview", "know", "see", "prove", "guesses"],
)
def test_it_fits_a_terminal(text: str):
    assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize(
    ("seconds", "said"), [(20, "1 min"), (600, "10 min"), (5940, "99 min"), (7500, "2 h 05 min")]
)
def test_time_is_said_in_minutes_and_hours(seconds: float, said: str):
    assert duration(seconds) == said


def test_the_figures_for_programs_are_plain_json():
    everything = [
        know_json(plan_to_know(0.2, 0.95)),
        ratio_json(plan_to_see(2, 0.8, 0.05)),
        claim_json(plan_to_prove(CLAIM, 0.015, 0.0, 0.8)),
        overview_json(0.8, 0.95),
    ]
    found = json.loads(json.dumps(everything, allow_nan=False))
    assert [part.get("trials") for part in found] == [49, 19, 14, None]


def test_the_readme_shows_what_the_program_says():
    readme = (Path(__file__).parents[2] / "README.md").read_text()
    assert ratio_text(plan_to_see(2, 0.8, 0.05), None).partition("\n\n")[0] in readme
