"""Keys at the terminal: what they mean, and when they don't count."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_deed import A_DEED
from a_place import A_PLACE

from hostctl.channels.terminal.keys import (
    SOME_OTHER,
    TWICE,
    Act,
    Answered,
    Keys,
    Said,
    StopNow,
    keys_in,
)
from hostctl.news import Prompt, PromptKind, Word

OPENED_S = 100.0
LATER_S = OPENED_S + 5.0


def prompt(kind: PromptKind = PromptKind.READ, *, graduations: bool = False) -> Prompt:
    return Prompt(
        prompt_id="p",
        deed=A_DEED[kind],
        text="Do it.",
        detail="",
        moves_next="",
        place=None,
        opened_at=datetime(2026, 11, 25, tzinfo=UTC),
        resolution_mm=0.01,
        typed_in_graduations=graduations,
    )


def typed_in(keys: str, asked: Prompt | None, *, at_s: float = LATER_S) -> Act | None:
    """What the last of the keys means, typed at a person's pace."""
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    acts = [keyboard.press(key, asked, at_s + 0.3 * turn) for turn, key in enumerate(keys)]
    return acts[-1]


@pytest.mark.parametrize(
    ("keys", "kind", "act"),
    [
        ("\r", PromptKind.SET, Answered(Word.DONE)),
        ("\r", PromptKind.CONFIRM, Answered(Word.DONE)),
        ("\r", PromptKind.ZERO, Answered(Word.DONE)),
        ("r", PromptKind.SET, Answered(Word.REDO)),
        ("s", PromptKind.READ, Answered(Word.SKIP)),
        (" ", PromptKind.READ, Answered(Word.HOLD)),
        ("x", PromptKind.SET, StopNow()),
        ("ee", PromptKind.SET, Answered(Word.END)),
        ("0.02\r", PromptKind.READ, Answered(Word.READING, 0.02)),
        ("-0,01\r", PromptKind.READ, Answered(Word.READING, -0.01)),
        ("0.03\x7f1\r", PromptKind.READ, Answered(Word.READING, 0.01)),
        ("0.4\r", PromptKind.ZERO, Answered(Word.READING, 0.4)),
        ("q", PromptKind.SET, None),
        (" ", PromptKind.SEND, Answered(Word.HOLD)),
        ("r", PromptKind.SEND, Answered(Word.REDO)),
    ],
)
def test_each_key_has_one_meaning(keys: str, kind: PromptKind, act: Act | None):
    assert typed_in(keys, prompt(kind)) == act


def test_what_the_cable_alone_sends_no_key_answers():
    said = typed_in("\r", prompt(PromptKind.SEND))
    assert isinstance(said, Said)
    assert "Press the button of the indicator's cable" in said.note
    assert isinstance(typed_in("0.02\r", prompt(PromptKind.SEND)), Said)


@pytest.mark.parametrize("typed", ["-0.02", "-0,02", "-.02", "-,02", "−0.02", "–0,02", "-0.020"])
def test_a_number_below_zero_is_typed_with_any_minus_and_decimal_sign(typed: str):
    assert typed_in(keys_in(f"{typed}\n".encode()), prompt()) == Answered(Word.READING, -0.02)


@pytest.mark.parametrize("typed", ["+0.02", "+0,02", "0,02", ".02", ",02"])
def test_a_number_above_zero_needs_no_sign(typed: str):
    assert typed_in(keys_in(f"{typed}\n".encode()), prompt()) == Answered(Word.READING, 0.02)


def test_graduations_are_typed_where_so_configured():
    assert typed_in("2\r", prompt(graduations=True)) == Answered(Word.READING, 0.02)


@pytest.mark.parametrize("keys", ["\r", "5\x7f\r", "-\r", "0.0.1\r"])
def test_a_reading_needs_a_number(keys: str):
    assert isinstance(typed_in(keys, prompt()), Said)


def test_a_number_where_none_is_asked_for_is_not_taken_for_done():
    assert isinstance(typed_in("0.02\r", prompt(PromptKind.SET)), Said)
    assert typed_in("0.02\r\r", prompt(PromptKind.SET)) == Answered(Word.DONE)


@pytest.mark.parametrize("key", ["\r", "r", "s"])
def test_a_key_within_half_a_second_of_the_prompt_moves_nothing(key: str):
    assert isinstance(typed_in(key, prompt(PromptKind.SET), at_s=OPENED_S + 0.4), Said)


def test_what_was_typed_before_the_prompt_is_forgotten():
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    keyboard.press("7", prompt(), LATER_S)
    keyboard.prompt_opened(LATER_S + 1)
    assert keyboard.typed == ""
    assert isinstance(keyboard.press("\r", prompt(), LATER_S + 9), Said)


def test_a_key_held_down_sails_through_no_prompt():
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    keyboard.press("\r", prompt(PromptKind.SET), LATER_S)
    keyboard.prompt_opened(LATER_S + 0.01)
    repeats = [LATER_S + 0.03 * count for count in range(1, 200)]
    acts = {type(keyboard.press("\r", prompt(PromptKind.SET), at_s)) for at_s in repeats}
    assert acts == {Said}


def test_an_e_held_down_does_not_end_the_run():
    keyboard = Keys()
    acts = {type(keyboard.press("e", prompt(), LATER_S + 0.03 * count)) for count in range(50)}
    assert acts == {Said}


def test_two_e_far_apart_do_not_end_the_run():
    keyboard = Keys()
    keyboard.press("e", prompt(), LATER_S)
    assert isinstance(keyboard.press("e", prompt(), LATER_S + 4), Said)


@pytest.mark.parametrize("between", ["5", "\r", "\x7f", "q", SOME_OTHER, "s"])
def test_any_other_key_calls_off_an_end_that_was_said_once(between: str):
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    assert keyboard.press("e", prompt(), LATER_S) == Said(TWICE["e"])
    between_act = keyboard.press(between, prompt(), LATER_S + 0.5)
    assert between_act is not None  # what stands there of pressing it once more goes
    assert between_act != Said(TWICE["e"])
    assert keyboard.press("e", prompt(), LATER_S + 1.0) == Said(TWICE["e"])
    assert keyboard.press("e", prompt(), LATER_S + 1.5) == Answered(Word.END)


def test_a_trial_is_skipped_by_two_presses_at_one_prompt():
    asked = replace(prompt(PromptKind.SET), place=A_PLACE)
    assert typed_in("s", asked) == Said(TWICE["s"])
    assert typed_in("ss", asked) == Answered(Word.SKIP)
    assert typed_in("ses", asked) == Said(TWICE["s"])
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    keyboard.press("s", asked, LATER_S)
    held = {keyboard.press("s", asked, LATER_S + 0.03 * count) for count in range(1, 50)}
    assert held == {Said(TWICE["s"])}
    assert keyboard.press("s", replace(asked, prompt_id="q"), LATER_S + 2.0) == Said(TWICE["s"])


@pytest.mark.parametrize(("key", "act"), [(" ", Answered(Word.HOLD)), ("x", StopNow())])
def test_holding_and_stopping_count_at_any_time(key: str, act: Act):
    assert typed_in(key, None, at_s=OPENED_S) == act


@pytest.mark.parametrize("key", ["\r", "r", "s", "5"])
def test_nothing_else_counts_while_nothing_is_asked(key: str):
    assert typed_in(key, None) is None


@pytest.mark.parametrize(
    ("data", "keys"),
    [
        (b"0.02\n", "0.02\r"),
        (b"\x1b[A", SOME_OTHER),
        (b"\x1bOP1", f"{SOME_OTHER}1"),
        (b"\x1b[15;2~5", f"{SOME_OTHER}5"),
        (b"\x1b", SOME_OTHER),
        ("−1".encode(), "-1"),
        (b"\xff\xfe2", "2"),
    ],
)
def test_cursor_keys_mean_nothing_and_broken_bytes_are_dropped(data: bytes, keys: str):
    assert keys_in(data) == keys
