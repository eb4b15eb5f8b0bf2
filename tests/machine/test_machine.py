"""One printer in the job's words, against a small printer in memory."""

import asyncio
from contextlib import nullcontext

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import At, SmallPrinter

from hostctl.config.machine import Point, Span, Travel
from hostctl.errors import LinkError, MachineError
from hostctl.link.reply import Reply
from hostctl.machine.controller.orders import LONGEST_MESSAGE, printable
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.machine.touch import Touch
from hostctl.records import Heat, Position


async def nobody_looks(heat: Heat) -> None:
    """Nothing comes of how warm it is."""


def ready(printer: SmallPrinter, **changes: object) -> Machine:
    """Connected, allowed to move, homed; what was said so far is forgotten."""
    machine = Machine(machine_file(**changes), printer)

    async def get_ready() -> None:
        await machine.connect()
        machine.permit.give()
        await machine.home()

    in_jumping_time(get_ready())
    printer.commands.clear()
    return machine


def test_after_connecting_the_machine_is_unhomed_and_nothing_moved():
    printer = SmallPrinter()
    machine = Machine(machine_file(), printer)
    in_jumping_time(machine.connect())
    assert not machine.homed
    assert printer.moves == []
    assert printer.commands == [
        *("M105", "M27", "M114", "M114"),  # asked first, before anything is set
        *("M105", "M104 S0", "M140 S0", "M105"),
        *("G21", "G90"),
        "M84 S0",  # idle motors are not let go: a head could sink
    ]


def test_before_it_was_ever_connected_nothing_homes():
    printer = SmallPrinter()
    machine = Machine(machine_file(), printer)
    machine.permit.give()
    with pytest.raises(MachineError, match="it is not connected"):
        in_jumping_time(machine.home())
    assert (machine.homed, printer.commands) == (False, [])


def test_unhomed_nothing_moves():
    machine = Machine(machine_file(), SmallPrinter())
    in_jumping_time(machine.connect())
    machine.permit.give()
    with pytest.raises(MachineError, match="position is not known"):
        in_jumping_time(machine.lift())


def test_without_a_permit_nothing_moves():
    printer = SmallPrinter()
    machine = ready(printer)
    machine.permit.withdraw("a prompt is open")
    with pytest.raises(MotionForbidden, match="a prompt is open"):
        in_jumping_time(machine.go_over(50, 50))
    assert printer.commands == []
    assert machine.homed


def test_homing_rises_before_anything_goes_sideways():
    printer = SmallPrinter()
    machine = Machine(machine_file(), printer)

    async def home() -> None:
        await machine.connect()
        machine.permit.give()
        await machine.home()

    in_jumping_time(home())
    told = [command for command in printer.commands if command not in ("M400", "M114")]
    assert told[-6:] == ["G90", "G92 Z0", "G1 Z10 F300", "G92 X-50 Y-50", "G28", "G1 Z10 F300"]
    assert machine.homed


@pytest.mark.parametrize(("times", "homes"), [(2, True), (3, False)])
def test_homing_that_did_not_happen_is_never_taken_for_done(times, homes):
    """A damaged G28 that passes the checksum is acknowledged like any other line."""
    printer = SmallPrinter()
    printer.deaf_to_homing = times
    machine = Machine(machine_file(), printer)

    async def home() -> None:
        await machine.connect()
        machine.permit.give()
        await machine.home()

    expectation = nullcontext() if homes else pytest.raises(MachineError, match="does not home")
    with expectation:
        in_jumping_time(home())
    assert machine.homed == homes


def test_each_motion_is_closed_by_waiting_and_asking_where_it_is():
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.go_over(50.0, 60.5))
    assert printer.commands == ["G1 X50 Y60.5 F3000", "M400", "M114"]


def test_a_head_that_is_elsewhere_is_caught_and_unhomed():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.diverted_mm = 0.03
    with pytest.raises(MachineError, match=r"the head is at .*z 8\.03.* not at .*z 8\.00"):
        in_jumping_time(machine.lower_to(6.0))
    assert not machine.homed


def test_a_deviation_within_the_tolerance_is_none():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.diverted_mm = 0.02
    in_jumping_time(machine.lower_to(9.5))
    assert machine.homed


def test_a_position_report_damaged_once_is_asked_for_again():
    """Replies carry no checksum: a wrong digit in a report is no wrong position."""
    printer = SmallPrinter()
    machine = ready(printer)
    reports = iter([At(99.0, 0.0, 10.0), At(0.0, 0.0, 10.0)])

    def damage(command: str) -> None:
        if command == "M114":
            printer.at = next(reports)

    printer.before = damage
    expected = Position(x_mm=0.0, y_mm=0.0, z_mm=10.0)
    assert in_jumping_time(machine.check_at(expected)) == expected


@pytest.mark.parametrize("spoils", ["G1", "M400", "M114"])
def test_a_fault_anywhere_in_a_motion_leaves_it_unhomed(spoils):
    printer = SmallPrinter()
    machine = ready(printer)
    told: list[str] = []
    machine.on_fault.add(lambda fault: told.append(fault.what))
    printer.before = lambda command: printer.fail("reset") if command.startswith(spoils) else None
    with pytest.raises(LinkError):
        in_jumping_time(machine.go_over(50, 50))
    assert not machine.homed
    assert not machine.connected
    assert told == ["reset"]


def test_a_move_refused_is_caught_by_the_position_and_its_words_are_told():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.refuses = {"G1"}
    with pytest.raises(MachineError, match=r"not at x 50\.00, .*; it said: no G1"):
        in_jumping_time(machine.go_over(50, 50))
    assert not machine.homed


def test_a_command_refused_twice_is_an_error():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.refuses = {"G4"}
    with pytest.raises(MachineError, match="it refused 'G4 P1000': no G4"):
        in_jumping_time(machine.settle(1.0))
    assert printer.commands == ["G4 P1000", "G4 P1000"]
    assert not machine.homed


def test_a_command_refused_once_was_a_damaged_line_and_is_given_again():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.refuses = {"M300"}
    printer.before = lambda command: printer.refuses.clear() if "M300" in printer.commands else None
    in_jumping_time(machine.beep())
    assert printer.commands == ["M300", "M300"]


def test_a_cancelled_motion_leaves_it_unhomed():
    printer = SmallPrinter()
    machine = ready(printer)

    async def cancel_in_the_middle() -> None:
        async with asyncio.TaskGroup() as tasks:
            moving = tasks.create_task(machine.go_over(50, 50))
            await asyncio.sleep(0)
            moving.cancel()

    in_jumping_time(cancel_in_the_middle())
    assert not machine.homed


def test_halting_goes_ahead_of_everything_and_forbids_motion():
    printer = SmallPrinter()
    machine = ready(printer)
    machine.halt("phone")
    assert printer.commands == ["M112"]
    assert not machine.homed
    with pytest.raises(MotionForbidden):
        machine.permit.check()


def test_probing_brings_the_probe_not_the_nozzle_over_the_place():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.touches_mm = [0.0125]
    assert in_jumping_time(machine.probe(30, 30)) == 0.0125
    assert printer.moves == ["G1 X30 Y10 F3000", "G30 X30 Y30"]  # the probe is 20 mm behind


def test_where_homing_ends_outside_the_travel_nothing_is_touched():
    """It is there already, so that no move is looked at."""
    printer = SmallPrinter()
    travel = Travel(
        x=Span(from_mm=5, to_mm=220), y=Span(from_mm=0, to_mm=220), z=Span(from_mm=-2, to_mm=250)
    )
    park = Point(name="park", x_mm=5, y_mm=200)
    machine = ready(printer, travel=travel, park=park)
    assert (printer.at.x, printer.at.y) == (0.0, 0.0)
    with pytest.raises(MachineError):
        in_jumping_time(machine.probe(0, 20))
    assert printer.moves == []


def test_a_second_touch_of_the_same_place_goes_no_way_round():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.touches_mm = [0.01, 0.02]
    in_jumping_time(machine.probe(30, 30))
    printer.commands.clear()
    in_jumping_time(machine.probe(30, 30))
    assert printer.moves == ["G30 X30 Y30"]


def test_a_touch_whose_report_was_damaged_is_done_again():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.touches_mm, printer.lost_touches = [0.01], 2
    assert in_jumping_time(machine.probe(30, 30)) == 0.01


def test_a_touch_deeper_than_allowed_is_an_error_and_costs_the_position():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.touches_mm = [-2.01]
    with pytest.raises(MachineError, match=r"gave -2\.01 mm .* deeper than allowed"):
        in_jumping_time(machine.probe(30, 30))
    assert not machine.homed


@pytest.mark.parametrize(("refused", "said"), [(True, "no G30"), (False, "its report was lost")])
def test_three_touches_without_a_height_are_each_told_and_leave_the_position_known(refused, said):
    printer = SmallPrinter()
    machine = ready(printer)
    printer.refuses, printer.lost_touches = ({"G30"}, 0) if refused else (set(), 3)
    told: list[Touch] = []
    machine.probing.on_no_height.add(told.append)
    with pytest.raises(MachineError, match=f"3 touches at x 30, y 30 mm gave no height: {said}"):
        in_jumping_time(machine.probe(30, 30))
    assert [touch.failed for touch in told] == [refused] * 3
    assert printer.commands.count("G30 X30 Y30") == 3
    assert machine.homed


def test_a_hot_nozzle_is_refused():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.nozzle_c = 50.1
    with pytest.raises(MachineError, match="Leave its heater off"):
        in_jumping_time(machine.check_cool())


def test_one_damaged_digit_does_not_make_a_cold_nozzle_hot():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.damaged_nozzle_c = [61.0]
    assert in_jumping_time(machine.check_cool()).nozzle_c == 21.0


def test_one_damaged_digit_does_not_make_a_hot_nozzle_cold():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.nozzle_c, printer.damaged_nozzle_c = 70.0, [70.0, 10.0]
    with pytest.raises(MachineError, match="Leave its heater off"):
        in_jumping_time(machine.check_cool())


def test_a_nozzle_whose_figure_was_lost_on_the_way_is_not_taken_for_cold():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.nozzle_c, printer.damaged_nozzle_c = 70.0, [None, 70.0, None, 70.0]
    with pytest.raises(MachineError, match="Leave its heater off"):
        in_jumping_time(machine.check_cool())


def test_a_bed_whose_figure_was_lost_on_the_way_is_asked_for_it_again():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.damaged_bed_c = [21.5, None, 22.0]
    assert in_jumping_time(machine.heaters.heat()).bed_c == 21.5
    assert in_jumping_time(machine.heaters.heat()).bed_c == 22.0


def test_a_bed_without_a_sensor_is_asked_once():
    printer = SmallPrinter()
    printer.bed_c = None
    machine = ready(printer)
    printer.damaged_bed_c = [None, 21.0]
    assert in_jumping_time(machine.heaters.heat()).bed_c is None
    assert printer.damaged_bed_c == [21.0]


def test_the_bed_warms_and_soaks_by_the_machines_own_clock():
    printer = SmallPrinter()
    machine = ready(printer)
    seen: list[float | None] = []

    async def look(heat: Heat) -> None:
        seen.append(heat.bed_c)

    in_jumping_time(machine.heaters.warm_bed(50.0, 4.0, look))
    assert printer.commands[0] == "M140 S50"
    assert seen == [21.0, 31.0, 41.0, 50.0, 50.0]


def test_a_bed_that_does_not_warm_is_an_error_and_heaters_go_off():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.before = lambda command: setattr(printer, "bed_c", 21.0)
    with pytest.raises(MachineError, match="not at 50 °C after 900 s"):
        in_jumping_time(machine.heaters.warm_bed(50.0, 4.0, nobody_looks))
    assert printer.commands[-2:] == ["M104 S0", "M140 S0"]


def test_a_bed_warmer_than_the_file_allows_is_never_ordered():
    printer = SmallPrinter()
    machine = ready(printer)
    with pytest.raises(MachineError, match="not allowed"):
        in_jumping_time(machine.heaters.warm_bed(61.0, 0.0, nobody_looks))
    assert printer.commands == []


def test_made_safe_means_heaters_off_and_no_motion():
    printer = SmallPrinter()
    machine = ready(printer)
    assert in_jumping_time(machine.make_safe()) is None
    assert printer.commands == ["M104 S0", "M140 S0"]
    with pytest.raises(MotionForbidden):
        machine.permit.check()


def test_a_machine_that_can_not_be_made_safe_is_said_to_be_so():
    printer = SmallPrinter()
    machine = ready(printer)
    printer.fail("unplugged")
    assert "could not be switched off" in (in_jumping_time(machine.make_safe()) or "")


class SlowPrinter(SmallPrinter):
    """Homes as long as a large machine does, and hears nothing meanwhile."""

    async def do(self, command: str, *, deadline_s: float, **more: object) -> Reply:
        if command == "M104 S0":
            await asyncio.sleep(25.0)
        return await super().do(command, deadline_s=deadline_s)


@pytest.mark.parametrize(
    ("heated", "said"),
    [(True, None), (False, "the heaters could not be switched off: it took too long")],
)
def test_a_homing_is_waited_for_where_a_heater_is_on(heated: bool, said: str | None):
    machine = ready(SlowPrinter())
    machine.heaters.may_be_on = heated
    assert in_jumping_time(machine.make_safe()) == said
    assert machine.heaters.may_be_on is False


def test_parking_lifts_first():
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(5.0))
    printer.commands.clear()
    in_jumping_time(machine.park())
    assert printer.moves == ["G1 Z10 F300", "G1 X0 Y200 F3000"]


def test_motors_are_never_let_go():
    """`M84 S0` sets the idle time to never; a bare M84 or M18 would let a head sink."""
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.park())
    in_jumping_time(machine.make_safe())
    assert not {"M84", "M18"} & set(printer.commands)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Turn it 120° left.", "Turn it 120 deg left"),
        ("one; two*three", "one, two three"),
        ("ö" * 50, "o" * LONGEST_MESSAGE),
    ],
)
def test_a_message_is_put_into_what_the_line_and_the_screen_can_carry(text, shown):
    assert printable(text) == shown
