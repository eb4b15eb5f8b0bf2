"""What the news come to: the one fold of them, item by item."""

import itertools
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_place import A_PLACE

from hostctl.deeds import SetGap
from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    Moving,
    News,
    Prompt,
    PromptClosed,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import Position, Reading, Temperatures
from hostctl.run.record.course import Course, course_after
from hostctl.run.record.standing import Standing

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PLACE = replace(A_PLACE, run=3, trial=2, trials_done=1, trials_total=60)
STARTED = RunStarted(
    run=3, study="small", machine="bench", trials_total=60, resumed=True, trials_done=1
)
SET = Prompt(
    prompt_id="3-1-a",
    deed=SetGap(method="paper-slip"),
    text="Set it.",
    detail="",
    moves_next="",
    place=PLACE,
    opened_at=NOON,
    resolution_mm=None,
)
ASKED = PromptOpened(prompt=SET)
ASKED_OF_NO_TRIAL = PromptOpened(prompt=replace(SET, place=None))
LIFTS = CountdownTicked(seconds_left=2, what="It lifts.")
HOMES = Moving(what="It homes.")
HELD = HoldBegan(reason="The cable.")
ENDED = RunFinished(run=3, complete=False, reason="said on page")


def kept(trial: int, *, block: int = 1) -> ReadingKept:
    return ReadingKept(
        reading_id=trial,
        place=replace(PLACE, trial=trial, block=block, trials_done=trial - 1),
        reading=Reading(
            value_mm=trial / 100,
            resolution_mm=0.01,
            taken_at=NOON,
            source="typed",
            at=Position(x_mm=5, y_mm=30, z_mm=5),
            temperatures=Temperatures(),
        ),
        relative_mm=None,
        is_zero=False,
        channel="terminal",
    )


def course(*news: News, pace_s: float = 20.0) -> Course:
    so_far = Course()
    times_s = itertools.count(step=pace_s)  # one for each reading
    for item in news:
        so_far = course_after(so_far, item, lambda: next(times_s))
    return so_far


@pytest.mark.parametrize(
    ("news", "standing"),
    [
        ([], Standing.RESTING),
        ([STARTED], Standing.MOVING),
        ([STARTED, ASKED], Standing.ASKING),
        ([STARTED, ASKED, PromptClosed(prompt_id="3-1-a", because="x")], Standing.MOVING),
        ([STARTED, ASKED, HELD], Standing.HOLDING),
        ([STARTED, HELD, ASKED], Standing.HOLDING),
        ([STARTED, HELD, HoldLifted(channel="page")], Standing.MOVING),
        ([STARTED, HELD, ASKED, ENDED], Standing.RESTING),
        ([STARTED, ENDED, HELD], Standing.HOLDING),
        ([ASKED_OF_NO_TRIAL], Standing.ASKING),
    ],
)
def test_the_standing_that_the_news_tell(news: list[News], standing: Standing):
    assert course(*news).standing is standing


@pytest.mark.parametrize(
    ("after", "counts", "moves"),
    [
        ([LIFTS], True, ""),
        ([LIFTS, HOMES], False, "It homes."),
        ([HOMES, LIFTS], True, ""),
        ([HOMES, ASKED], False, ""),
        ([LIFTS, ASKED], False, ""),
        ([HOMES, HELD], False, ""),
        ([LIFTS, HELD], False, ""),
        ([HOMES, ENDED], False, ""),
        ([LIFTS, ENDED], False, ""),
        ([HOMES, kept(1)], False, "It homes."),
        ([LIFTS, AnswerRefused(prompt_id=None, channel="page", reason="x")], True, ""),
    ],
)
def test_what_counts_down_or_moves_until_something_else_is_told(
    after: list[News], counts: bool, moves: str
):
    then = course(STARTED, *after)
    assert (then.countdown is not None, then.moving) == (counts, moves)


def test_a_run_begins_anew_but_for_the_block_that_was_read_last():
    again = course(STARTED, kept(1), kept(2), HELD, ENDED, replace(STARTED, run=4))
    assert (again.going_on, again.finished, again.held) == (replace(STARTED, run=4), None, None)
    assert (again.place, again.in_hand.readings_mm, again.seconds_left) == (None, (), None)
    assert again.last_block.readings_mm == (0.01, 0.02)


def test_a_run_that_is_over_stays_with_how_it_ended():
    over = course(STARTED, kept(1), ENDED)
    assert (over.started, over.finished, over.going_on) == (STARTED, ENDED, None)
    assert over.in_hand.readings_mm == (0.01,)


@pytest.mark.parametrize(
    ("news", "done"),
    [
        ([], 1),
        ([kept(2)], 2),
        ([kept(2), HOMES], 2),
        ([TrialMarked(place=PLACE, mark="skipped", reason="x")], 2),
        ([kept(2), TrialMarked(place=PLACE, mark="void", reason="x")], 1),
        ([ASKED_OF_NO_TRIAL], 1),
        ([PromptOpened(prompt=replace(SET, place=replace(PLACE, trials_done=7)))], 7),
    ],
)
def test_how_many_trials_are_done(news: list[News], done: int):
    assert course(STARTED, *news).trials_done == done


def test_the_block_in_hand_is_the_one_that_it_is_at():
    next_block = replace(SET, place=replace(PLACE, block=2, trial=0))
    asked = course(STARTED, kept(1), kept(2), PromptOpened(prompt=next_block))
    assert (asked.in_hand.readings_mm, asked.in_hand.resolution_mm) == ((), None)
    assert asked.last_block.readings_mm == (0.01, 0.02)
    assert course_after(asked, kept(1, block=2), lambda: 99.0).in_hand.readings_mm == (0.01,)


def test_where_it_was_last_is_kept_while_the_whole_machine_is_asked_about():
    assert course(STARTED, ASKED, ASKED_OF_NO_TRIAL).place == PLACE


def test_the_time_left_is_the_usual_pace_times_what_is_left():
    first_four = [kept(trial) for trial in range(1, 5)]
    assert course(STARTED, *first_four).seconds_left == 56 * 20.0
    late = course_after(course(STARTED, *first_four), kept(5), lambda: 1000.0)
    assert late.seconds_left == 55 * 20.0  # one trial with a long pause is not the usual pace
    assert course(STARTED, *first_four[:2]).seconds_left is None
