"""Killed between an answer and what comes of it: on resuming it is done, told, and done once."""

import json

import pytest
from workshop import Person, Workshop, obliging, said, study_file

from hostctl.records import Answer, Prompt, PromptKind, TrialMarked, Word
from hostctl.run.answered import ANSWERED


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
        if prompt.turn is not None:
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


def test_a_reading_that_is_stored_but_was_not_acknowledged_is_told_and_counts_once():
    shop = Workshop(study_file(trials=2))
    shop.carry_out(obliging([0.04, -0.02]))
    killed_after_answer(shop, number_of(shop, Word.READING) - 2)
    taken = [p for p in shop.prompts if p.kind is PromptKind.READ]
    assert taken == []

    shop.carry_out(obliging(), resume=True)
    assert "The last reading kept is 0.04 mm, trial 1 of block 1" in shop.prompts[0].detail
    assert not [mark for mark in shop.store.marks if mark.trial == 1]
