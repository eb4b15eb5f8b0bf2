"""Bytes become lines however they were cut."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.protocol.lines import LONGEST_LINE, LineSplitter


def lines_from(pieces: list[bytes]) -> list[str]:
    splitter = LineSplitter()
    return [line for piece in pieces for line in splitter.feed(piece)]


def chop(stream: bytes, cuts: list[int]) -> list[bytes]:
    bounds = [0, *sorted(min(cut, len(stream)) for cut in cuts), len(stream)]
    return [stream[a:b] for a, b in pairwise(bounds)]


@pytest.mark.parametrize("end", [b"\n", b"\r", b"\r\n", b"\n\r"])
def test_a_line_ends_in_newline_or_return_or_both(end: bytes) -> None:
    assert lines_from([b"ok" + end + b"wait" + end]) == ["ok", "wait"]


def test_a_line_is_given_only_when_it_is_whole() -> None:
    assert lines_from([b"o", b"k"]) == []
    assert lines_from([b"o", b"k", b"\n"]) == ["ok"]


def test_several_lines_can_arrive_at_once() -> None:
    assert lines_from([b"echo:busy: processing\nok\nok\n"]) == ["echo:busy: processing", "ok", "ok"]


def test_bytes_that_are_not_ascii_can_not_become_an_answer() -> None:
    assert lines_from([b"\xffok\n"]) == ["�ok"]


def test_a_line_without_end_takes_bounded_memory_and_what_follows_it_is_read() -> None:
    splitter = LineSplitter()
    for _ in range(1000):
        splitter.feed(b"x" * 1000)
    assert [len(line) for line in splitter.feed(b"\nok\n")] == [LONGEST_LINE, 2]


byte_streams = st.lists(st.sampled_from([b"ok", b"\n", b"\r", b"x" * 600, b"\xfe", b"T:1"])).map(
    b"".join
)


@given(stream=byte_streams | st.binary(), cuts=st.lists(st.integers(0, 2000)))
def test_how_the_bytes_are_cut_never_matters(stream: bytes, cuts: list[int]) -> None:
    assert lines_from(chop(stream, cuts)) == lines_from([stream])


@pytest.mark.parametrize(
    "pieces", [[b"\0\0ok\n"], [b"\0", b"ok\0\n"], [b"ok\r\0\n"], [b"\0" * 9999, b"ok\n"]]
)
def test_nuls_around_a_line_are_no_part_of_it(pieces: list[bytes]) -> None:
    assert lines_from(pieces) == ["ok"]


def test_a_nul_in_the_middle_is_damage() -> None:
    assert lines_from([b"X:1\x000.00 Y:2 Z:3\n"]) == ["X:1\x000.00 Y:2 Z:3"]
