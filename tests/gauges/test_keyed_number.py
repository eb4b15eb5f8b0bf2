"""Keys of a measuring cable put together to numbers: none is guessed from what is broken."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.gauges.keyed_number import MOST_SIGNS, Keyed, KeyedNumber
from hostctl.input_events.events import KeyDown

ENTER, KEYPAD_ENTER, TAB, SHIFT, A = 28, 96, 15, 42, 30
CODE = {**{digit: 2 + index for index, digit in enumerate("1234567890")}, "-": 12, ".": 52}
CODES = CODE | {",": 51, "+": 78, "/": 53, "\n": ENTER, "\t": TAB, "a": A, "^": SHIFT}


def keyed(text: str, *, apart_s: float = 0.01, numbers: KeyedNumber | None = None) -> list[Keyed]:
    numbers = numbers or KeyedNumber()
    return [
        each
        for count, sign in enumerate(text)
        for each in numbers.key(KeyDown(code=CODES[sign], at_s=50.0 + count * apart_s))
    ]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0.012\n", 0.012),
        ("-0,015\n", -0.015),
        ("/0.015\n", -0.015),  # the key of a minus in many countries
        ("^+0.5\n", 0.5),
        ("00012\t", 12.0),
        ("-.5\n", -0.5),
    ],
)
def test_a_number_and_what_ends_it(text, number):
    assert keyed(text) == [Keyed(number, "", 50.0 if text[0] != "^" else 50.01)]


def test_the_keypads_keys_do_too():
    numbers = KeyedNumber()
    told = [
        each
        for code in (74, 82, 83, 80, KEYPAD_ENTER)
        for each in numbers.key(KeyDown(code=code, at_s=1.0))
    ]
    assert told == [Keyed(-0.2, "", 1.0)]


@pytest.mark.parametrize(
    ("text", "trouble"),
    [
        ("1.2.3\n", "typed '1.2.3', which is no number"),
        ("-\n", "typed '-', which is no number"),
        ("0.0a12\n", r"belongs to no number \(code 30\)"),
        ("a\n", "code 30"),
        ("1" * 40 + "\n", "which is no number"),
    ],
)
def test_what_is_no_number_is_told(text, trouble):
    (told,) = keyed(text)
    assert told.number is None
    with pytest.raises(AssertionError, match=trouble):
        raise AssertionError(told.trouble)


def test_an_enter_by_itself_is_nothing():
    assert keyed("\n\n\t") == []


def test_what_was_broken_off_never_joins_what_comes_later():
    numbers = KeyedNumber()
    assert keyed("0.0", numbers=numbers) == []
    later = [
        each
        for count, sign in enumerate("12\n")
        for each in numbers.key(KeyDown(code=CODES[sign], at_s=55.0 + count / 100))
    ]
    assert later == [Keyed(None, "it typed '0.0' without an end", 50.0), Keyed(12.0, "", 55.0)]


def test_an_enter_that_comes_late_ends_nothing():
    assert keyed("5\n", apart_s=2.0) == [Keyed(None, "it typed '5' without an end", 50.0)]


@given(st.lists(st.sampled_from("0123456789-.,+/\n\ta^")))
def test_any_keys_give_only_numbers_that_were_typed_whole(signs):
    told = keyed("".join(signs))
    parts = "".join(signs).replace("^", "").replace("\t", "\n").split("\n")[:-1]
    assert len(told) == len([part for part in parts if part])
    for each, part in zip(told, filter(None, parts), strict=True):
        assert (each.number is None) == bool(each.trouble)
        if each.number is not None:
            assert len(part) <= MOST_SIGNS
            said = part.replace(",", ".").replace("/", "-")
            assert float(said) == each.number
