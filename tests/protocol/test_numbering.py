"""Commands go out with number and checksum, and only lawful ones."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.protocol.numbering import HALT, LONGEST_SENT, checked, checksum, numbered


@pytest.mark.parametrize(
    ("line", "command", "sent"),
    [
        (3, "T0", b"N3 T0*57\n"),  # RepRap wiki, page G-code, "Checksum", first example
        (4, "G92 E0", b"N4 G92 E0*67\n"),  # same, second
    ],
)
def test_a_command_goes_out_with_number_and_checksum(line: int, command: str, sent: bytes) -> None:
    assert numbered(line, command) == sent


@given(body=st.binary(min_size=1, max_size=80), at=st.integers(0), mask=st.integers(1, 255))
def test_one_damaged_byte_never_passes_the_checksum(body: bytes, at: int, mask: int) -> None:
    damaged = bytearray(body)
    damaged[at % len(body)] ^= mask
    assert checksum(damaged) != checksum(body)


def test_the_checksum_is_blind_to_the_same_flip_in_two_bytes() -> None:
    assert checksum(b"N1 G0 X10 Y10") == checksum(b"N1 G0 X20 Y20")


@pytest.mark.parametrize(
    "command", ["G0 X1.5 Y-2", "M400", "G28", "M117 set the gap, please", "G92.1"]
)
def test_a_lawful_command_is_given_back(command: str) -> None:
    assert checked(command) == command


@pytest.mark.parametrize(
    "command",
    [
        "",
        "g0 X1",
        "G0 X1 ; comment",
        "M117 grün",
        "M114*5",
        "G0 X1\nG0 X2",
        "hello",
        "M117 " + "x" * 90,
    ],
    ids=["empty", "lower case", "comment", "not ASCII", "checksum", "two lines", "no code", "long"],
)
def test_an_unlawful_command_is_refused(command: str) -> None:
    with pytest.raises(ValueError, match="not a command"):
        checked(command)


def test_the_longest_lawful_command_keeps_within_the_longest_line() -> None:
    longest = "M117 " + "x" * (LONGEST_SENT - len("N9999999 *255\n") - len("M117 "))
    assert len(numbered(9_999_999, checked(longest))) <= LONGEST_SENT


def test_the_halt_survives_a_damaged_line_before_it_and_one_damaged_byte() -> None:
    assert HALT.startswith(b"\n")
    assert HALT.split(b"\n").count(b"M112") == 2
