"""The room code: four digits shown at the machine; whoever types them is there."""

from datetime import UTC, datetime, timedelta

from hostctl.run.arming.room_code import (
    DIGITS,
    LASTS_S,
    MOST_WRONG,
    SHUT_S,
    RoomCode,
    ShownCode,
    drawn,
)


class Clock:
    def __init__(self) -> None:
        self.at = datetime(2031, 5, 6, 7, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def pass_s(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)


def shown(room_code: RoomCode) -> str:
    made = room_code.renew()
    assert isinstance(made, ShownCode)
    return made.code


def test_the_code_that_is_shown_is_taken_once():
    room_code = RoomCode(Clock())
    code = shown(room_code)
    assert room_code.take(code) is None
    assert room_code.take(code) == "no room code is shown now: ask for one first"


def test_a_code_is_taken_only_as_long_as_it_is_shown():
    clock = Clock()
    room_code = RoomCode(clock)
    code = shown(room_code)
    clock.pass_s(LASTS_S)
    assert room_code.take(code) is not None


def test_setting_the_clock_back_does_not_make_a_code_last():
    clock, elapsed_s = Clock(), [0.0]
    room_code = RoomCode(clock, clock=lambda: elapsed_s[0])
    code = shown(room_code)
    clock.pass_s(-86_400)
    elapsed_s[0] = float(LASTS_S)
    assert room_code.take(code) == "no room code is shown now: ask for one first"


def test_a_fresh_code_replaces_the_one_before():
    codes = iter(["1111", "2222"])
    room_code = RoomCode(Clock(), draw=lambda: next(codes))
    shown(room_code)
    shown(room_code)
    assert room_code.take("1111") is not None
    assert room_code.take(" 2222 ") is None


def test_after_a_few_wrong_codes_none_is_shown_or_taken_for_a_while():
    clock = Clock()
    room_code = RoomCode(clock, draw=lambda: "1111")
    shown(room_code)
    assert {room_code.take(f"000{digit}") for digit in range(MOST_WRONG)} == {
        "that is not the code the machine shows"
    }
    assert "too many wrong codes" in str(room_code.take("1111"))
    assert "too many wrong codes" in str(room_code.renew())
    clock.pass_s(SHUT_S)
    assert room_code.take(shown(room_code)) is None


def test_wrong_codes_count_over_several_codes():
    """Else a fresh code after each few guesses would allow guessing for ever."""
    room_code = RoomCode(Clock(), draw=lambda: "1111")
    for digit in range(MOST_WRONG):
        shown(room_code)
        room_code.take(f"000{digit}")
    assert "too many wrong codes" in str(room_code.renew())


def test_a_code_has_four_digits_also_when_it_begins_with_zeros():
    assert {len(drawn()) for _ in range(200)} == {DIGITS}
    assert all(drawn().isdigit() for _ in range(200))


def guesses_until_shut(room_code: RoomCode) -> int:
    for guesses in range(20):
        if not isinstance(room_code.renew(), ShownCode):
            return guesses
        room_code.take("0000")
    return 20


def test_after_a_right_code_and_after_each_shutting_as_many_guesses_are_left_as_at_first():
    clock = Clock()
    room_code = RoomCode(clock, draw=lambda: "1111")
    assert guesses_until_shut(room_code) == MOST_WRONG
    clock.pass_s(SHUT_S)
    assert guesses_until_shut(room_code) == MOST_WRONG
    clock.pass_s(SHUT_S)
    shown(room_code)
    room_code.take("0000")
    room_code.take("1111")
    assert guesses_until_shut(room_code) == MOST_WRONG


def test_how_long_no_code_is_taken_is_told_in_minutes():
    clock = Clock()
    room_code = RoomCode(clock, draw=lambda: "1111")
    guesses_until_shut(room_code)
    assert "10 min" in str(room_code.renew())
    clock.pass_s(SHUT_S - 1)
    assert "1 min" in str(room_code.renew())
