"""What comes in over an indicator's line: whole lines, their numbers, and when it settles."""

from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.config.parts.gauge import Gauge, IndicatorLine, Unit
from hostctl.gauges.lines import LONGEST_LINE, Lines
from hostctl.gauges.settling import Settling
from hostctl.gauges.spoken_number import number_in, number_of, plain_number

TEXT = st.text(st.characters(codec="ascii", exclude_characters="\r\n"), max_size=LONGEST_LINE)


def chopped(data: bytes, at: list[int]) -> list[bytes]:
    ends = sorted({0, len(data), *(place % (len(data) + 1) for place in at)})
    return [data[one:other] for one, other in pairwise(ends)]


# ------------------------------------------------------------ lines


@given(st.lists(TEXT), st.sampled_from(["\n", "\r", "\r\n"]), st.lists(st.integers(0, 10_000)))
def test_lines_are_the_same_however_the_bytes_are_cut(texts, end, at):
    data = "".join(text + end for text in texts).encode()
    lines = Lines()
    assert [line for piece in chopped(data, at) for line in lines.feed(piece)] == [
        text for text in texts if text
    ]


@given(st.lists(st.binary(max_size=400)))
def test_whatever_comes_in_no_line_is_empty_or_longer_than_it_may_be(pieces):
    lines = Lines()
    for piece in pieces:
        for line in lines.feed(piece):
            assert 0 < len(line) <= LONGEST_LINE
            assert "\r" not in line
            assert "\n" not in line


@given(st.integers(LONGEST_LINE + 1, 5_000), st.lists(st.integers(0, 10_000)))
def test_of_a_line_that_is_too_long_no_part_is_taken_for_a_line(length, at):
    lines = Lines()
    data = b"9" * length + b"\n0.5\n"
    assert [line for piece in chopped(data, at) for line in lines.feed(piece)] == ["0.5"]


@given(st.binary(max_size=200), st.integers(-9_999, 9_999), st.lists(st.integers(0, 10_000)))
def test_after_any_garbage_the_next_whole_line_is_heard(garbage, thousandths, at):
    sent = f"{thousandths / 1000:+.3f} mm"
    lines = Lines()
    data = garbage + b"\n" + sent.encode() + b"\r\n"
    heard = [line for piece in chopped(data, at) for line in lines.feed(piece)]
    assert heard[-1] == sent
    assert number_in(heard[-1]) == pytest.approx(thousandths / 1000)


# ------------------------------------------------------------ numbers


@given(st.text(max_size=120))
def test_no_text_whatever_is_an_error(text):
    number = number_in(text)
    assert number is None or abs(number) < float("inf")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0.5", 0.5),
        (" -  0,5 ", -0.5),
        ("007.10", 7.1),
        ("+.5", 0.5),
        ("5.", 5.0),
        ("", None),
        ("-", None),
        (".", None),
        ("1.2.3", None),
        ("0x10", None),
        ("1e3", None),
        ("nan", None),
        ("\uff11", None),
        ("1 2", None),
    ],
)
def test_a_plain_number(text, number):
    assert plain_number(text) == number


@pytest.mark.parametrize(
    ("pattern", "unit", "line", "value_mm"),
    [
        (r"A=([-+ ]*\d+[.,]\d+)", Unit.MM, "A=- 0,015;B=9.9", -0.015),
        (r"(?:B|C)=(\d+)", Unit.UM, "A=1;B=12", 0.012),
        (r"(?P<number>[-+]?\d+\.\d+) (mm|in)", Unit.IN, "0.0005 in", 0.0127),
        (r"([-+]?\d+\.\d+)", Unit.MM, "ERR", None),
        (r"X(.{6})", Unit.MM, "X 0.010", 0.01),
        (r"X(.{6})", Unit.MM, "XE r 4 ", None),
        (r"(\d+)", Unit.MM, "low 12", 12.0),  # a user's own pattern outranks what is usual
        (None, Unit.UM, "12", 0.012),
        (None, Unit.UM, "0.012 mm", 0.012),  # the line's own unit goes first
        (None, Unit.IN, "-0.1", -2.54),
    ],
)
def test_the_number_by_pattern_and_unit(pattern, unit, line, value_mm):
    found = number_of(IndicatorLine(pattern=pattern, unit=unit))(line)
    assert found == (None if value_mm is None else pytest.approx(value_mm))


# ------------------------------------------------------------ settled

VALUES = st.lists(st.one_of(st.none(), st.integers(-3, 3).map(lambda step: step / 100)))


@given(VALUES, st.integers(2, 5), st.integers(0, 3))
def test_it_has_settled_where_the_last_so_many_are_numbers_that_are_alike(values, alike, steps):
    settling = Settling(alike, steps / 100)
    for count, value in enumerate(values, 1):
        told = settling.saw(value)
        last = values[max(count - alike, 0) : count]
        numbers = [each for each in last if each is not None]
        is_settled = (
            len(last) == alike == len(numbers) and max(numbers) - min(numbers) <= steps / 100 + 1e-7
        )
        assert told == (value if is_settled else None)


@pytest.mark.parametrize(("alike", "share_off"), [(3, 0.29), (5, 0.04), (8, 0.003)])
def test_how_often_a_restless_number_is_taken_for_settled_is_what_the_key_says(alike, share_off):
    """4,000 readings of known truth: noise of 50 graduations that halves every four lines."""
    chance, readings, off = Random(12), 4000, 0
    for _ in range(readings):
        settling, lines, settled_mm = Settling(alike, 0.001), 0, None
        truth_mm = chance.uniform(-2, 2)
        while settled_mm is None:
            noise_mm = chance.gauss(0, 0.05) * 0.5 ** (lines / 4)
            settled_mm = settling.saw(round(truth_mm + noise_mm, 3))
            lines += 1
        off += abs(settled_mm - truth_mm) > 0.0011
    sigma = (share_off * (1 - share_off) / readings) ** 0.5
    assert off / readings == pytest.approx(share_off, abs=3.5 * sigma)


def test_damage_that_cuts_a_fifth_of_the_lines_short_gives_no_wrong_reading():
    chance = Random(7)
    for _ in range(2000):
        settling, lines, settled_mm = Settling(3, 0.001), Lines(), None
        truth_mm = round(chance.uniform(-2, 2), 3)
        while settled_mm is None:
            sent = f"{truth_mm:+.3f} mm\r\n".encode()
            damaged = chance.random()
            if damaged < 0.1:
                sent = chance.randbytes(chance.randrange(1, 40))
            elif damaged < 0.2:
                sent = sent[: chance.randrange(1, len(sent))]
            for line in lines.feed(sent):
                settled_mm = settled_mm or settling.saw(number_in(line))
        assert settled_mm == pytest.approx(truth_mm, abs=0.0011)


def test_alike_means_to_one_graduation_unless_the_study_says_otherwise():
    by_default = Settling.by(Gauge(resolution_mm=0.001))
    wider = Settling.by(Gauge(line=IndicatorLine(alike=2, alike_to_mm=0.1)))
    assert [by_default.saw(value) for value in (0.010, 0.011, 0.012, 0.011)] == [
        *(None, None, None),
        0.011,
    ]
    assert [wider.saw(value) for value in (0.5, 0.55)] == [None, 0.55]
