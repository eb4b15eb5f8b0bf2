"""Plans as they are told: tables against published figures, curves that can be read off."""

import json
from dataclasses import replace

import pytest

from hostctl.metrology.claims.planning import precision_of_sd
from hostctl.report.figures.planning_curve import HEIGHT, PlanningCurve
from hostctl.report.planning.document import ONE_LOOK, PLAN
from hostctl.report.planning.plan import Unanswerable, plan, takes_seconds
from hostctl.report.planning.planning import (
    MOST_POINTS,
    ROUND_NUMBERS,
    claim_about,
    plan_to_prove,
    plan_to_see,
    spread_out,
)
from hostctl.report.planning.wishes import Wishes
from hostctl.report.planning.words import duration

CLAIM = claim_about(0.05, proportion=0.95, confidence=0.95, datum=False)
KNOW = Wishes(know_within=0.2)
SEE = Wishes(see_ratio=2)
PROVE = Wishes(within_mm=0.05, expected_sd_mm=0.015)


def told(wishes: Wishes) -> str:
    return PLAN.text(plan(wishes))


def test_knowing_a_spread_shows_the_published_multipliers():
    """σ lies within 0.69 s to 1.83 s after 10: common chi-square tables (from memory)."""
    text = told(KNOW)
    assert text.startswith("49 trials tell a spread to within ±20 %")
    row = next(line for line in text.splitlines() if line.split()[:1] == ["10"])
    assert row.split()[-4:] == ["0.69", "s", "1.83", "s"]


def test_the_doubt_of_s_that_is_quoted_is_the_guides():
    """JCGM 100:2008, table E.1 (from memory): 52 % at 3, 24 % at 10."""
    found = [round(100 * precision_of_sd(n).relative_sd) for n in (3, 10)]
    assert found == [52, 24]
    assert "52 % from 3 trials, 24 % from 10" in " ".join(told(KNOW).split())


def test_seeing_a_ratio_says_the_trials_of_each_and_the_work_of_both():
    text = told(replace(SEE, trial_seconds=60))
    assert text.startswith("19 trials of each method")
    assert "about 38 min of work" in " ".join(text.split())


def test_of_several_pairs_the_work_is_said_to_be_that_of_two_methods():
    text = " ".join(told(replace(SEE, pairs=3, trial_seconds=60)).split())
    assert "about 50 min of work for two." in text
    assert "smallest ratio of s time for two" in text


def test_the_smallest_ratio_is_shown_where_readings_count_as_points():
    finely, coarsely, with_rig = (
        plan(replace(SEE, see_ratio=4, **wish)).see
        for wish in (
            {},
            {"expected_sd_mm": 0.005},
            {"expected_sd_mm": 0.1, "rig_sd_mm": 0.0067},
        )
    )
    assert finely is not None
    assert finely.table[-1].smallest_ratio is not None
    for see in (coarsely, with_rig):
        assert see is not None
        assert {row.smallest_ratio for row in see.table} == {None}
    assert "mallest ratio" not in told(replace(SEE, see_ratio=4, expected_sd_mm=0.005))


@pytest.mark.parametrize(
    ("wishes", "judged"), [(KNOW, False), (SEE, False), (PROVE, True), (Wishes(), True)]
)
def test_looks_are_spoken_of_where_a_claim_is(wishes: Wishes, judged: bool):
    assert (ONE_LOOK in " ".join(told(wishes).replace("•", "").split())) is judged


@pytest.mark.parametrize(
    ("wishes", "seconds"),
    [
        (SEE, False),
        (PROVE, False),
        (replace(SEE, expected_sd_mm=0.005), True),
        (replace(SEE, expected_sd_mm=0.005, rig_sd_mm=0.02), False),
    ],
)
def test_what_takes_seconds_is_known_beforehand(wishes: Wishes, seconds: bool):
    assert takes_seconds(wishes) is seconds


def test_a_claim_says_what_would_be_proven_and_under_which_truth():
    text = " ".join(told(PROVE).split())
    assert text.startswith(
        "19 trials prove that at least 95 % of settings lie within ±0.05 mm of each block's own "
        "long-run mean (95 % confidence), in 80 % of studies, if the truth is a standard "
        "deviation of 0.015 mm."
    )


def test_a_claim_that_is_false_is_never_proven():
    never = plan(replace(PROVE, expected_sd_mm=0.03))
    assert PLAN.text(never).startswith("No sensible number of trials proves it")
    data = PLAN.data(never)["prove"]
    assert data["trials"] is None
    assert "can't be proven" in data["why_no_trials"]


def test_a_wish_that_takes_too_many_trials_is_named():
    with pytest.raises(Unanswerable) as caught:
        plan(Wishes(know_within=0.2, see_ratio=1.0001))
    assert caught.value.wish == "see_ratio"


@pytest.mark.slow
def test_a_bias_makes_the_same_claim_dearer():
    about_datum = claim_about(0.05, proportion=0.95, confidence=0.95, datum=True)
    near, far = (plan_to_prove(about_datum, 0.015, bias, 0.8).trials for bias in (0.0, 0.015))
    assert isinstance(near, int)
    assert isinstance(far, int)
    assert near < far


@pytest.mark.parametrize("sd", [0.0, -1.0, float("nan"), float("inf")])
def test_a_spread_that_is_none_is_refused(sd: float):
    with pytest.raises(ValueError, match="above 0"):
        plan_to_prove(CLAIM, sd, 0.0, 0.8)


def test_the_answer_is_in_the_table_with_its_chance():
    see = plan_to_see(1.5, 0.8, 0.05)
    chances = {row.trials: row.chance for row in see.table}
    assert chances[see.trials] >= 0.8
    assert set(chances) - {see.trials} <= set(ROUND_NUMBERS)


CURVE = PlanningCurve(
    trials=(2, 3, 4, 5), chances=(0.0, 0.45, 0.8, 1.0), goal=0.8, answer=4, counted="trials"
)
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
    assert CURVE.in_text() == DRAWN


@pytest.mark.parametrize("last", [2, 3, 30, 61, 500, 100_000])
def test_columns_are_spread_evenly_and_fit(last: int):
    columns = spread_out(last)
    assert columns[0] == 2
    assert columns[-1] == last
    assert len(columns) <= MOST_POINTS
    assert sorted(set(columns)) == columns


@pytest.mark.parametrize("answer", [2, 3, 30, 54, 55])
def test_the_foot_marks_the_answer_wherever_it_lies(answer: int):
    trials = tuple(range(2, 56))
    chances = tuple(n / 55 for n in trials)
    curve = replace(CURVE, trials=trials, chances=chances, goal=0.5, answer=answer)
    lines = curve.in_text().splitlines()
    assert len(lines) == HEIGHT + 2
    assert lines[-2].index("┴") == 7 + answer - 2


@pytest.mark.parametrize(
    "wishes",
    [
        Wishes(),
        Wishes(know_within=0.05, confidence=0.99, trial_seconds=40),
        Wishes(see_ratio=1.1, power=0.9, confidence=0.99, trial_seconds=40),
        Wishes(within_mm=0.05, expected_sd_mm=0.024, power=0.9, trial_seconds=40),
        Wishes(within_mm=1.0, trial_seconds=40),
    ],
    ids=["overview", "know", "see", "prove", "guesses"],
)
def test_it_fits_a_terminal(wishes: Wishes):
    assert max(map(len, told(wishes).splitlines())) <= 80


@pytest.mark.parametrize(
    ("seconds", "said"), [(20, "1 min"), (600, "10 min"), (5940, "99 min"), (7500, "2 h 05 min")]
)
def test_time_is_said_in_minutes_and_hours(seconds: float, said: str):
    assert duration(seconds) == said


def test_the_figures_for_programs_are_plain_json():
    everything = replace(PROVE, know_within=0.2, see_ratio=2)
    found = json.loads(json.dumps(PLAN.data(plan(everything)), allow_nan=False))
    assert [found[part]["trials"] for part in ("know", "see", "prove")] == [49, 20, 19]
    overview = json.loads(json.dumps(PLAN.data(plan(Wishes())), allow_nan=False))["overview"]
    assert [len(overview[part]) for part in ("know", "see", "prove")] == [7, 7, 7]
