"""Where hands say that contact lies, and how far down the nozzle may go for it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.errors import MachineError
from hostctl.machine.descent.bracket import MOST_BELOW_MM, WIDEST_MM, Bracket


def bracket(in_mm: float, out_mm: float, z_try_mm: float = 1.0) -> Bracket:
    return Bracket(where="machine 'bench'", z_try_mm=z_try_mm, in_mm=in_mm, out_mm=out_mm)


def test_contact_lies_between_the_two_blades_and_the_floor_a_little_below_by_hand_reckoning():
    """Nozzle at 1.2 mm; 0.30 goes under, 0.45 does not: contact between 0.90 and 0.75 mm."""
    blades = bracket(0.30, 0.45, 1.2)
    assert blades.upper_z_mm == pytest.approx(0.90)
    assert blades.lower_z_mm == pytest.approx(0.75)
    assert blades.floor_z_mm(0.1) == pytest.approx(0.65)


def test_no_blade_may_go_under_at_all():
    assert bracket(0.0, 0.05, 0.5).upper_z_mm == 0.5


@pytest.mark.parametrize(
    ("in_mm", "out_mm", "why"),
    [
        (0.3, 0.3, "must be thinner"),
        (0.45, 0.3, "must be thinner"),
        (-0.1, 0.1, "must be thinner"),
        (float("nan"), 0.1, "must be thinner"),
        (0.1, float("nan"), "must be thinner"),
        (0.3, 0.51, "more than 0.2 mm apart.*Take finer blades"),
        (0.3, float("inf"), "more than 0.2 mm apart"),
    ],
)
def test_blades_that_can_not_be_or_say_too_little_are_refused_in_one_line(in_mm, out_mm, why):
    with pytest.raises(MachineError, match=why) as refused:
        bracket(in_mm, out_mm)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("below_mm", [0.0, -0.1, 0.21, float("nan")])
def test_a_floor_elsewhere_than_a_little_below_is_refused(below_mm):
    with pytest.raises(MachineError, match="floor_below_mm"):
        bracket(0.3, 0.45).floor_z_mm(below_mm)


@pytest.mark.parametrize(("closed_z_mm", "is_false"), [(0.7, False), (0.62, False), (0.71, True)])
def test_contact_above_what_the_blades_say_is_a_false_one(closed_z_mm, is_false):
    blades, told = bracket(0.3, 0.45), False
    try:
        blades.check_contact_at(closed_z_mm)
    except MachineError as fault:
        told = "above 0.70 mm" in fault.what
    assert told == is_false


@given(
    z_try_mm=st.floats(-2, 20),
    in_mm=st.floats(0, 5),
    wide_mm=st.floats(1e-3, WIDEST_MM),
    below_mm=st.floats(1e-3, MOST_BELOW_MM),
)
def test_the_floor_is_never_further_below_contact_than_bracket_and_allowance(
    z_try_mm, in_mm, wide_mm, below_mm
):
    """Wherever in its bracket contact lies, at most 0.2 + 0.2 mm of pressing in is left."""
    blades = bracket(in_mm, in_mm + wide_mm, z_try_mm)
    floor_mm = blades.floor_z_mm(below_mm)
    assert floor_mm < blades.lower_z_mm < blades.upper_z_mm <= z_try_mm + 1e-6
    assert blades.upper_z_mm - floor_mm <= WIDEST_MM + MOST_BELOW_MM + 1e-9
