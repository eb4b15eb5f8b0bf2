"""The line being typed: by hand and after the question, or no answer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.begin.screen.typed_line import NO_PASTE, TOO_SOON, Heard, TypedLine

ASKED_S = 100.0
LATER_S = ASKED_S + 5.0
BEGIN, END = b"\x1b[200~", b"\x1b[201~"


def asked_line() -> TypedLine:
    line = TypedLine()
    line.asked(ASKED_S)
    return line


def typed(keys: str, *, from_s: float = LATER_S, apart_s: float = 0.15) -> list[Heard]:
    """What comes of each key, typed one by one."""
    line = asked_line()
    return [
        line.hear(key.encode(), from_s + apart_s * count)
        for count, key in enumerate(keys.replace("<", "\x7f"))
    ]


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        ("12.5\r", "12.5"),
        ("12.5\n", "12.5"),
        ("\r", ""),
        ("13<2\r", "12"),
        ("<<a\r", "a"),
        ("abc\x15d\r", "d"),
        ("né°\r", "né°"),
        ("a\tb\x04\r", "ab"),
    ],
)
def test_what_is_typed_is_the_line(keys: str, line: str):
    assert typed(keys)[-1].line == line


def test_what_is_typed_is_shown_and_rubbed_out_by_as_many_columns_as_it_has():
    assert "".join(heard.echo for heard in typed("a<字<")) == "a\b \b字\b \b\b \b"


def test_cursor_keys_are_dropped_in_pieces_too():
    line = asked_line()
    pieces = [b"1", b"\x1b", b"[", b"A", b"\x1b[1;5C", b"\x1bOP", b"\xc3", b"\xa9", b"\r"]
    assert [line.hear(piece, LATER_S) for piece in pieces][-1].line == "1é"


def test_the_escape_key_takes_no_other_with_it():
    assert typed("\x1b7\r")[-1].line == "7"


@pytest.mark.parametrize("keys", ["12.5\r", "\r"])
def test_a_line_begun_too_soon_is_dropped_whole(keys: str):
    """Or 12.5 would become 2.5."""
    heard = typed(keys, from_s=ASKED_S + 0.45)
    assert heard[-1] == Heard(note=TOO_SOON)
    assert all(each.line is None for each in heard)


def test_what_was_rubbed_out_was_not_too_soon():
    assert typed("1<<12.5\r", from_s=ASKED_S + 0.4)[-1].line == "12.5"


@pytest.mark.parametrize("before_repeat_s", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("apart_s", [1 / 30, 0.5])
def test_enter_held_down_answers_once_and_is_told_once(before_repeat_s: float, apart_s: float):
    line = asked_line()
    assert line.hear(b"\r", LATER_S).line == ""
    line.asked(LATER_S)  # the next question
    notes = []
    for count in range(40):
        heard = line.hear(b"\r", LATER_S + before_repeat_s + apart_s * count)
        assert heard.line is None
        notes.append(heard.note)
        if heard.note:
            line.asked(LATER_S + before_repeat_s + apart_s * count)
    assert notes == [TOO_SOON] + [""] * 39
    assert line.hear(b"\r", LATER_S + 100.0).line == ""


@pytest.mark.parametrize("pasted", [b"y", b"y\r", b"1\r2\r3\r", b""])
def test_a_marked_paste_is_no_answer(pasted: bytes):
    line = asked_line()
    assert line.hear(BEGIN + pasted + END, LATER_S) == Heard(note=NO_PASTE)


def test_nor_is_a_line_with_something_pasted_in_it():
    line = asked_line()
    line.hear(b"1", LATER_S)
    assert line.hear(BEGIN + b"2" + END, LATER_S).note == NO_PASTE
    line.asked(LATER_S)
    assert line.hear(b"3\r", LATER_S + 5.0).line == "3"


@given(st.binary(max_size=20), st.integers(1, 12))
def test_nor_is_one_that_comes_in_pieces(pasted: bytes, size: int):
    line, whole, notes = asked_line(), BEGIN + pasted.replace(b"\x1b", b"") + END, []
    for at in range(0, len(whole), size):
        heard = line.hear(whole[at : at + size], LATER_S)
        assert (heard.line, heard.echo) == (None, "")
        notes.append(heard.note)
    assert [note for note in notes if note] == [NO_PASTE]


def test_the_rest_of_a_paste_whose_beginning_was_thrown_away_is_no_answer():
    line = asked_line()
    assert line.hear(b"yes\r", ASKED_S).note == TOO_SOON
    line.asked(ASKED_S)
    assert line.hear(b"yes" + END, ASKED_S).note == NO_PASTE


def test_a_paste_whose_end_was_thrown_away_is_over():
    line = asked_line()
    line.hear(BEGIN + b"yes", LATER_S)
    line.asked(LATER_S)
    assert line.hear(b"7\r", LATER_S + 5.0).line == "7"


@pytest.mark.parametrize("pasted", [b"y\rn\r", b"1\r2", b"\ry", b"y\r\x1b[An"])
def test_several_lines_at_once_are_a_paste_where_none_is_marked(pasted: bytes):
    assert asked_line().hear(pasted, LATER_S).note == NO_PASTE


def test_the_key_that_ends_the_input_does_so_where_nothing_is_typed():
    assert typed("\x04")[-1].ended
    assert not typed("a\x04")[-1].ended
