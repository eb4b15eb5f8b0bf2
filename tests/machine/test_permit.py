"""The permit to move, and the deeds that keep anybody from giving it."""

import pytest

from hostctl.deeds import Deed, ReadIndicator, TurnScrew
from hostctl.machine.permit import MotionForbidden, Permit

TURN = TurnScrew(screw="front-left", turn_deg=120, direction="clockwise")


def may_move(permit: Permit) -> bool:
    try:
        permit.check()
    except MotionForbidden:
        return False
    return True


def given() -> Permit:
    permit = Permit("machine 'bench'")
    permit.give()
    assert may_move(permit)
    return permit


@pytest.mark.parametrize("deed", [TURN, ReadIndicator()])
def test_while_any_prompt_is_open_nothing_may_move_and_afterwards_not_until_allowed(deed: Deed):
    permit = given()
    with permit.withdrawn_for(deed):
        assert not may_move(permit)
    assert not may_move(permit)
    permit.give()
    assert may_move(permit)


def test_while_a_deed_puts_hands_in_nobody_can_allow_motion():
    permit = given()
    with permit.withdrawn_for(TURN):
        permit.give()
        assert not may_move(permit)
        permit.withdraw("the run is on hold")
        permit.give()
        assert not may_move(permit)
    assert not may_move(permit)  # what was said meanwhile does not count later either


def test_a_prompt_that_breaks_off_takes_the_hands_out_but_allows_nothing():
    permit = given()
    with pytest.raises(ValueError, match="broke off"), permit.withdrawn_for(TURN):
        raise ValueError("broke off")
    assert not may_move(permit)
    permit.give()
    assert may_move(permit)
