"""Arming: for a stated time, used up by one start."""

from datetime import timedelta

import pytest
from test_room_code import Clock

from hostctl.run.arming.arming import LONGEST_S, Arming


def test_nothing_is_armed_at_first():
    assert Arming(Clock()).armed is None


def test_arming_says_by_whom_and_until_when():
    clock = Clock()
    armed = Arming(clock).arm(by="button", for_s=600)
    assert (armed.by, armed.until) == ("button", clock.at + timedelta(seconds=600))


def test_it_runs_out_by_itself():
    clock = Clock()
    arming = Arming(clock)
    arming.arm(by="button", for_s=600)
    clock.pass_s(599.9)
    assert arming.armed is not None
    clock.pass_s(0.1)
    assert arming.use() is None


def test_setting_the_clock_back_does_not_make_it_last():
    clock, elapsed_s = Clock(), iter([0.0, 599.9, 600.0])
    arming = Arming(clock, lambda: next(elapsed_s))
    arming.arm(by="button", for_s=600)
    clock.pass_s(-86_400)
    assert arming.armed is not None
    assert arming.armed is None


def test_one_start_uses_it_up():
    arming = Arming(Clock())
    arming.arm(by="button", for_s=600)
    assert arming.use() is not None
    assert arming.use() is None


def test_it_can_be_taken_back():
    arming = Arming(Clock())
    arming.arm(by="button", for_s=600)
    arming.disarm()
    assert arming.armed is None


@pytest.mark.parametrize("for_s", [0, 0.9, LONGEST_S + 1, float("nan")])
def test_it_lasts_a_second_to_an_hour(for_s: float):
    with pytest.raises(ValueError, match="from 1 to 3600 s"):
        Arming(Clock()).arm(by="button", for_s=for_s)
