"""Killed between an answer and what comes of it: on resuming it is done, told, and done once."""

import json
from dataclasses import asdict, replace

import pytest
from a_place import A_PLACE
from workshop import EPOCH, Person, Workshop, obliging, said, study_file

from hostctl.deeds import TurnScrew, WatchLamp
from hostctl.news import Answer, Prompt, PromptKind, TrialMarked, Word
from hostctl.records import Place
from hostctl.run.record.answered import Undone, as_data, in_words, told_on_resuming, undone
from hostctl.store.rows import ANSWERED, NewEvent, NewMark, RunRecord


def killed_after_answer(shop: Workshop, number: int) -> None:
    """The disk as it is when the program is killed right after an answer was kept."""
    store = shop.store
    answers = [event for event in store.events if event.kind == ANSWERED]
    last = answers[number]
    store.events = store.events[: store.events.index(last) + 1]
    store.readings = [one for one in store.readings if one.reading.taken_at < last.at]
    store.marks = [one for one in store.marks if one.at < last.at]
    shop.news.clear()
    shop.prompts.clear()


def answers(shop: Workshop) -> list[dict[str, object]]:
    return [json.loads(event.data) for event in shop.store.events if event.kind == ANSWERED]


def number_of(shop: Workshop, word: Word) -> int:
    """Which answer was the last with this word."""
    return max(at for at, one in enumerate(answers(shop)) if one["word"] == word)


def at_third_turn(word: Word) -> Person:
    """Obliging, but for one word at the third time that the screw is to be turned away."""
    turns = 0

    def answer(prompt: Prompt) -> Answer | None:
        nonlocal turns
        if isinstance(prompt.deed, TurnScrew):
            turns += 1
            if turns == 3:  # of the zero, of trial 1, of trial 2
                return said(prompt, word)
        return obliging([0.01])(prompt)

    return answer


def test_every_answer_but_hold_and_end_is_kept_once_with_its_trial():
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.04, -0.02]))
    assert [one["prompt_id"] for one in answers(shop)] == [p.prompt_id for p in shop.prompts]
    reads = [one for one in answers(shop) if one["kind"] == "read"]
    assert [one["reading_mm"] for one in reads] == [0.04, -0.02]
    assert [one["place"]["trial"] for one in reads] == [1, 2]


def test_a_reading_answered_but_not_proven_is_void_told_and_taken_again():
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.04, -0.02]))
    killed_after_answer(shop, number_of(shop, Word.READING))
    assert shop.store.values_mm() == [0.04]

    assert shop.carry_out(obliging([0.05, 0.06]), resume=True).complete
    first = shop.told(TrialMarked)[0]
    assert (first.place.trial, first.place.attempt, first.mark) == (2, 1, "void")
    assert first.reason == (
        "-0.02 mm on terminal was answered, but the program stopped before it was proven"
    )
    assert "The last reading kept is 0.04 mm, trial 1 of block 1" in shop.prompts[0].detail
    assert "answer kept is -0.02 mm on terminal, trial 2 of block 1" in shop.prompts[0].detail
    costs = "1 reading of this block, and its zero, are taken again: homing shifts the zero."
    assert shop.prompts[0].detail.startswith(costs)
    assert shop.store.values_mm() == [0.05, 0.06]  # in a new round: homing lost the zero
    assert shop.carry_out(obliging(), resume=True).complete
    assert sum(mark.reason == first.reason for mark in shop.store.marks) == 1


@pytest.mark.parametrize(
    ("word", "mark", "trial"), [(Word.REDO, "void", 1), (Word.SKIP, "skipped", 2)]
)
def test_redo_and_skip_are_done_on_resuming(word: Word, mark: str, trial: int):
    shop = Workshop(study_file(trials=2))
    shop.carry_out(at_third_turn(word))
    killed_after_answer(shop, number_of(shop, word))
    assert shop.store.marks == []

    shop.carry_out(obliging(), resume=True)
    first = shop.store.marks[0]
    assert (first.mark, first.trial, first.attempt) == (mark, trial, 1)
    assert f"The last answer kept is {word} on terminal" in shop.prompts[0].detail
    zero = ", only this block's zero: homing shifts it." if word is Word.REDO else "."
    assert shop.prompts[0].detail.startswith(f"No reading is taken again{zero}")


def test_a_reading_that_is_stored_but_was_not_acknowledged_is_told_and_counts_once():
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.04, -0.02]))
    killed_after_answer(shop, number_of(shop, Word.READING) - 2)
    taken = [p for p in shop.prompts if p.kind is PromptKind.READ]
    assert taken == []

    shop.carry_out(obliging(), resume=True)
    assert "The last reading kept is 0.04 mm, trial 1 of block 1" in shop.prompts[0].detail
    assert not [mark for mark in shop.store.marks if mark.trial == 1]


# ------------------------------------------------------------ no two figures of the trial alike

PLACE = replace(A_PLACE, block=3, round=4, trial=5, attempt=6)
VOIDED = NewMark(run=1, block=3, round=4, trial=5, attempt=6, mark="void", reason="", at=EPOCH)
DUE = Undone(
    place=PLACE,
    mark="void",
    reason="0.04 mm on button was answered, but the program stopped before it was proven",
)


def an_event(kind: str = ANSWERED, **changes: object) -> NewEvent:
    """An answer, 0.04 mm by the button, or what else has such data."""
    given = {"prompt_id": "1-7-a", "word": "reading", "reading_mm": 0.04, "channel": "button"}
    data = given | {"place": asdict(PLACE)} | changes
    return NewEvent(run=1, at=EPOCH, kind=kind, text="", data=json.dumps(data))


def stopped(*events: NewEvent, marks: tuple[NewMark, ...] = (), read: Place | None = None):
    """What is on record of a run that stopped; `read`: where its second reading was kept."""
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.07, 0.03]))
    store = shop.store
    _, first, last = store.readings
    store.readings = [replace(first, channel="phone"), replace(last, place=read)] if read else []
    store.marks, store.events = list(marks), list(events)
    return store.record()


ELSEWHERE = [{"block": 4}, {"round": 5}, {"trial": 6}, {"attempt": 7}]


def test_a_trial_is_done_once_it_is_read_or_marked():
    assert undone(stopped(an_event())) == DUE
    assert undone(stopped(an_event(), read=PLACE)) is None
    assert undone(stopped(an_event(), marks=(VOIDED,))) is None
    assert undone(stopped(an_event(), marks=(replace(VOIDED, attempt=None),))) is None
    assert undone(stopped(an_event(), marks=(replace(VOIDED, trial=None, attempt=None),))) is None


@pytest.mark.parametrize("elsewhere", ELSEWHERE)
def test_what_is_read_or_marked_elsewhere_leaves_a_trial_due(elsewhere: dict[str, int]):
    assert undone(stopped(an_event(), read=replace(PLACE, **elsewhere))) == DUE
    assert undone(stopped(an_event(), marks=(replace(VOIDED, **elsewhere),))) == DUE


def test_one_of_several_marks_is_enough():
    others = tuple(replace(VOIDED, **elsewhere) for elsewhere in ELSEWHERE)
    assert undone(stopped(an_event(), marks=(*others, VOIDED, *others))) is None


def test_a_reading_that_was_asked_for_again_is_not_due_but_that_of_another_prompt_is():
    asked_again = an_event("asked again")
    assert undone(stopped(an_event(), asked_again)) is None
    assert undone(stopped(an_event(), an_event("asked again", prompt_id="1-6-a"))) == DUE
    assert undone(stopped(an_event(), an_event("zeroed"))) == DUE
    bare = NewEvent(run=1, at=EPOCH, kind="asked again", text="")
    assert undone(stopped(an_event(), bare)) == DUE


def test_the_last_answer_about_a_trial_is_the_one_that_counts():
    earlier = an_event(word="skip", reading_mm=None)
    assert undone(stopped(earlier, an_event(), an_event(place=None), an_event("zeroed"))) == DUE
    assert undone(stopped(an_event(), an_event(word="done", reading_mm=None))) is None
    assert undone(stopped()) is None
    assert undone(None) is None


@pytest.mark.parametrize(
    ("changes", "read", "told"),
    [
        ({}, PLACE, []),
        ({}, None, ["0.04 mm on button", "trial 5 of block 3", "that trial is done again"]),
        ({"word": "skip", "reading_mm": None}, None, ["skip on button", "it is skipped"]),
        ({"word": "redo", "reading_mm": None}, PLACE, ["redo on button", "done again"]),
        ({}, replace(PLACE, trial=4), ["0.04 mm on button", "trial 5 of block 3"]),
    ],
)
def test_what_became_of_the_last_answer_is_told(
    changes: dict[str, object], read: Place | None, told: list[str]
):
    record: RunRecord = stopped(an_event(**changes), read=read)
    words = told_on_resuming(record)
    assert ("The last answer kept" in words) == bool(told)
    kept = read and f"The last reading kept is 0.03 mm, trial {read.trial} of block 3, answered on"
    assert words.startswith(f"{kept} terminal." if kept else "The last answer")
    assert [part for part in told if part not in words] == []


def test_a_last_reading_that_no_longer_counts_is_told_as_void():
    record = stopped(an_event(), read=PLACE)
    record.readings[-1] = replace(record.readings[-1], void="homing lost the zero")
    assert told_on_resuming(record).endswith("answered on terminal; it is void.")


def test_a_zero_kept_last_is_told_as_a_zero():
    words = told_on_resuming(stopped(an_event(), read=replace(PLACE, trial=0)))
    assert words.startswith("The last reading kept is 0.03 mm, the zero of block 3, answered on")


def test_of_a_run_without_answers_nothing_is_told():
    assert told_on_resuming(stopped()) == ""
    assert told_on_resuming(None) == ""


# ------------------------------------------------------------------ one of several


def lamp_said(choice: str, at: Place | None = A_PLACE) -> tuple[Prompt, Answer]:
    prompt = Prompt(
        prompt_id="1-9-c",
        deed=WatchLamp(),
        text="Dark or lit?",
        detail="",
        moves_next="",
        place=at,
        opened_at=EPOCH,
        resolution_mm=None,
    )
    answer = Answer(
        prompt_id=prompt.prompt_id,
        word=Word.CHOSEN,
        choice=choice,
        channel="terminal",
        given_at=EPOCH,
    )
    return prompt, answer


@pytest.mark.parametrize("choice", ["dark", "lit"])
def test_a_choice_is_kept_with_its_answer_and_told_by_its_word(choice: str):
    prompt, answer = lamp_said(choice)
    kept = as_data(answer, prompt)
    assert in_words(answer) == f"{choice} on terminal"
    assert (kept["kind"], kept["word"], kept["choice"]) == ("choose", "chosen", choice)
    assert kept["place"] == asdict(A_PLACE)


def test_after_a_crash_a_choice_is_told_and_leaves_no_mark():
    prompt, answer = lamp_said("lit")
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.04, -0.02]))
    record = shop.store.record()
    data = json.dumps(as_data(answer, prompt))
    asked = NewEvent(run=1, at=EPOCH, kind=ANSWERED, text=in_words(answer), data=data)
    broken_off = replace(record, readings=(), events=(asked,))
    assert undone(broken_off) is None
    assert told_on_resuming(broken_off) == (
        "The last answer kept is lit on terminal, trial 1 of block 1: that trial is done again."
    )
