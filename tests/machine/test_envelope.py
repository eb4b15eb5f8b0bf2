"""Every order is checked before a byte is sent."""

import pytest
from bench_files import machine_file
from hypothesis import given
from hypothesis import strategies as st

from hostctl.config.machine import Indicator
from hostctl.errors import MachineError
from hostctl.machine.envelope import SLOW_MM, STEP_MM, Envelope, Sideways, Vertical
from hostctl.records import Position

HIGH = Position(x_mm=30.0, y_mm=30.0, z_mm=10.0)
LOW = Position(x_mm=30.0, y_mm=30.0, z_mm=9.0)
ENVELOPE = Envelope(machine_file())


@pytest.mark.parametrize(
    ("move", "at", "why"),
    [
        (Sideways(x_mm=50, y_mm=50, speed_mm_s=50), LOW, "below the clear height 10 mm"),
        (Sideways(x_mm=221, y_mm=50, speed_mm_s=50), HIGH, "x 221 mm is outside the travel"),
        (Sideways(x_mm=50, y_mm=-1, speed_mm_s=50), HIGH, "y -1 mm is outside the travel"),
        (Sideways(x_mm=float("nan"), y_mm=50, speed_mm_s=50), HIGH, "x nan mm is outside"),
        (Sideways(x_mm=50, y_mm=50, speed_mm_s=51), HIGH, "not a speed up to 50 mm/s"),
        (Sideways(x_mm=50, y_mm=50, speed_mm_s=0), HIGH, "not a speed"),
        (Vertical(z_mm=251, speed_mm_s=5), HIGH, "z 251 mm is outside the travel"),
        (Vertical(z_mm=-2.1, speed_mm_s=1), HIGH, "z -2.1 mm is outside the travel"),
        (Vertical(z_mm=20, speed_mm_s=5.1), HIGH, "not a speed up to 5 mm/s"),
        (Vertical(z_mm=0, speed_mm_s=5), HIGH, "too fast"),
        (Vertical(z_mm=1.9, speed_mm_s=1.1), HIGH, "too fast"),
    ],
)
def test_a_move_outside_the_envelope_is_refused(move, at, why):
    with pytest.raises(MachineError, match=why) as refused:
        ENVELOPE.check(move, at)
    assert "nothing was sent" in refused.value.what


@pytest.mark.parametrize(
    ("move", "at"),
    [
        (Sideways(x_mm=220, y_mm=0, speed_mm_s=50), HIGH),
        (Vertical(z_mm=2, speed_mm_s=5), HIGH),
        (Vertical(z_mm=0, speed_mm_s=1), HIGH),
        (Vertical(z_mm=250, speed_mm_s=5), LOW),
    ],
)
def test_a_move_inside_it_is_allowed(move, at):
    ENVELOPE.check(move, at)


@pytest.mark.parametrize("z_mm", [-4.5, -4.6])
def test_the_plunger_is_never_driven_to_its_stop(z_mm):
    """Reading height 5 mm, pre-load 0.5 mm, travel 10 mm: the stop is met at -4.5 mm."""
    deep = machine_file(
        travel=machine_file().travel.model_copy(
            update={"z": machine_file().travel.z.model_copy(update={"from_mm": -20.0})}
        ),
        indicator=Indicator(),
    )
    envelope = Envelope(deep)
    assert envelope.lowest_z_mm == -4.5
    refused = False
    try:
        envelope.check(Vertical(z_mm=z_mm, speed_mm_s=1), HIGH)
    except MachineError:
        refused = True
    assert refused == (z_mm < -4.5)


def test_lowering_is_brisk_then_slow_in_short_steps():
    moves = ENVELOPE.down(HIGH, 0.0)
    assert moves == [
        Vertical(z_mm=2.0, speed_mm_s=5.0),
        Vertical(z_mm=1.0, speed_mm_s=1.0),
        Vertical(z_mm=0.0, speed_mm_s=1.0),
    ]


def test_lowering_never_goes_up():
    with pytest.raises(MachineError, match="is not downward"):
        ENVELOPE.down(LOW, 9.5)


def test_a_lift_from_above_the_clear_height_moves_nothing():
    assert ENVELOPE.up(HIGH, 10.0) == []


@given(start=st.floats(0, 240), target=st.floats(0, 240))
def test_every_descent_ends_slowly_at_its_target_inside_the_envelope(start, target):
    at = Position(x_mm=0.0, y_mm=0.0, z_mm=max(start, target))
    z_mm, slow_mm = at.z_mm, 0.0
    for move in ENVELOPE.down(at, min(start, target)):
        here = Position(x_mm=0.0, y_mm=0.0, z_mm=z_mm)
        ENVELOPE.check(move, here)
        if move.speed_mm_s == 1.0:
            assert z_mm - move.z_mm <= STEP_MM + 1e-3
            slow_mm += z_mm - move.z_mm
        z_mm = move.z_mm
    assert z_mm == pytest.approx(min(start, target), abs=1e-3)
    assert slow_mm == pytest.approx(min(SLOW_MM, abs(start - target)), abs=1e-3)


@pytest.mark.parametrize(
    ("nozzle_c", "bed_c", "part"), [(51.0, 20.0, "nozzle is at 51"), (20.0, 61.0, "bed is at 61")]
)
def test_what_burns_hands_is_refused(nozzle_c, bed_c, part):
    with pytest.raises(MachineError, match=part):
        ENVELOPE.check_hands_safe(nozzle_c, bed_c)


@pytest.mark.parametrize(("nozzle_c", "bed_c"), [(50.0, 60.0), (None, None)])
def test_what_does_not_burn_is_allowed(nozzle_c, bed_c):
    ENVELOPE.check_hands_safe(nozzle_c, bed_c)
