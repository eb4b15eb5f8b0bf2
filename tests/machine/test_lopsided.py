"""Motion on a machine where nothing is the same in x and y, so that a mix-up shows."""

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import At, SmallPrinter
from test_machine import ready

from hostctl.config.machine import Point, Probe, Span, Travel
from hostctl.errors import MachineError
from hostctl.link.reply import Reply
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.records import Position

LOPSIDED = {
    "travel": Travel(
        x=Span(from_mm=-5, to_mm=180),
        y=Span(from_mm=-15, to_mm=240),
        z=Span(from_mm=-2, to_mm=250),
    ),
    "points": [Point(name="front-right", x_mm=150, y_mm=40)],
    "screws": [],
    "probe": Probe(offset_x_mm=-12, offset_y_mm=20),
    "park": Point(name="park", x_mm=10, y_mm=230),
}
ON_THE_WAY = "M400"


@pytest.fixture
def printer() -> SmallPrinter:
    return SmallPrinter()


@pytest.fixture
def machine(printer: SmallPrinter) -> Machine:
    return ready(printer, **LOPSIDED)


def test_the_probe_is_brought_over_the_place_by_both_its_offsets(machine, printer):
    printer.touches_mm = [0.01]
    in_jumping_time(machine.probe(150, 40))
    assert printer.moves == ["G1 X162 Y20 F3000", "G30 X150 Y40"]


@pytest.mark.parametrize(("x_mm", "y_mm"), [(150.0, 41.0), (151.0, 40.0), (40.0, 150.0)])
def test_another_place_is_gone_to_by_the_clear_height_however_near(machine, printer, x_mm, y_mm):
    in_jumping_time(machine.come_with_probe(150, 40))
    in_jumping_time(machine.lower_to(6.0))
    printer.commands.clear()
    in_jumping_time(machine.come_with_probe(x_mm, y_mm))
    across = f"G1 X{x_mm + 12:g} Y{y_mm - 20:g} F3000"
    assert printer.moves == ["G1 Z10 F300", across]


def test_where_the_probe_is_there_already_nothing_moves(machine, printer):
    in_jumping_time(machine.come_with_probe(150, 40))
    in_jumping_time(machine.lower_to(6.0))
    printer.commands.clear()
    in_jumping_time(machine.come_with_probe(150, 40))
    assert printer.moves == []


def test_without_a_permit_nothing_is_touched_even_where_the_probe_is_there_already(
    machine, printer
):
    in_jumping_time(machine.come_with_probe(150, 40))
    machine.permit.withdraw("a prompt is open")
    printer.commands.clear()
    with pytest.raises(MotionForbidden):
        in_jumping_time(machine.probe(150, 40))
    assert printer.commands == []


def test_without_a_permit_nothing_homes(machine, printer):
    machine.permit.withdraw("a prompt is open")
    with pytest.raises(MotionForbidden):
        in_jumping_time(machine.home())
    assert printer.commands == []


@pytest.mark.parametrize("pushed", [At(162.5, 20.0, 0.0), At(162.0, 20.5, 0.0)])
def test_a_head_that_a_touch_pushed_aside_is_caught_and_unhomed(machine, printer, pushed):
    printer.touches_mm = [0.01]
    in_jumping_time(machine.come_with_probe(150, 40))

    def push(command: str) -> None:
        if command == ON_THE_WAY:
            printer.at = pushed

    printer.before = push
    with pytest.raises(MachineError, match="the head is at"):
        in_jumping_time(machine.probe(150, 40))
    assert not machine.homed


def test_a_touch_that_gives_no_height_is_told_with_its_place(machine, printer):
    printer.lost_touches = 99
    with pytest.raises(MachineError, match="at x 150, y 40 mm"):
        in_jumping_time(machine.probe(150, 40))


def test_after_a_touch_the_head_rises_by_the_lift_from_where_the_touch_left_it(machine, printer):
    printer.touches_mm = [0.01]
    in_jumping_time(machine.come_with_probe(150, 40))

    def stays_low(command: str) -> None:
        if command.startswith("G30"):
            printer.at = At(162.0, 20.0, 0.5)

    printer.before = stays_low
    in_jumping_time(machine.probe(150, 40, lift_mm=4.0))
    assert printer.moves[-1] == "G1 Z4.5 F300"


def test_after_a_touch_the_head_rises_no_higher_than_it_began(machine, printer):
    printer.touches_mm = [0.01]
    in_jumping_time(machine.come_with_probe(150, 40))
    in_jumping_time(machine.lower_to(3.0))

    def stays_low(command: str) -> None:
        if command.startswith("G30"):
            printer.at = At(162.0, 20.0, 0.5)

    printer.before = stays_low
    in_jumping_time(machine.probe(150, 40, lift_mm=4.0))
    assert printer.moves[-1] == "G1 Z3 F300"


def test_a_touch_as_deep_as_allowed_is_one(machine, printer):
    printer.touches_mm = [-2.0]
    assert in_jumping_time(machine.probe(150, 40)) == -2.0
    assert machine.homed


def test_it_parks_where_its_file_says_with_x_and_y_in_their_places(machine, printer):
    in_jumping_time(machine.park())
    assert printer.moves == ["G1 X10 Y230 F3000"]


@pytest.mark.parametrize(
    ("x_mm", "y_mm"), [(180.1, 40.0), (-5.1, 40.0), (150.0, 240.1), (150.0, -15.1)]
)
def test_it_goes_nowhere_beyond_its_travel(machine, printer, x_mm, y_mm):
    with pytest.raises(MachineError, match="outside"):
        in_jumping_time(machine.go_over(x_mm, y_mm))
    assert printer.commands == []
    assert machine.homed  # refused before a byte was sent


@pytest.mark.parametrize(("x_mm", "y_mm"), [(180, 240), (-5, -15), (180, -15)])
def test_it_goes_to_the_ends_of_its_travel(machine, printer, x_mm, y_mm):
    in_jumping_time(machine.go_over(x_mm, y_mm))
    assert printer.moves == [f"G1 X{x_mm} Y{y_mm} F3000"]


def test_homing_is_proved_by_a_place_outside_the_travel_in_either_axis():
    """Homed, one axis may come to stand near where the proof put it; the other one tells."""
    for at in (At(-55.0, 0.0, 0.0), At(0.0, -65.0, 0.0)):
        printer = SmallPrinter()

        def homes(command: str, printer: SmallPrinter = printer, at: At = at) -> None:
            if command == ON_THE_WAY and "G28" in printer.commands[-1:]:
                printer.at = at

        printer.before = homes
        machine = Machine(machine_file(**LOPSIDED), printer)

        async def home(machine: Machine = machine) -> None:
            await machine.connect()
            machine.permit.give()
            await machine.home()

        in_jumping_time(home())
        assert "G92 X-55 Y-65" in printer.commands
        assert printer.commands.count("G28") == 1


def test_where_it_is_is_what_it_says_axis_by_axis(machine, printer):
    printer.at = At(1.5, -2.25, 33.0)
    assert in_jumping_time(machine.where()) == Position(x_mm=1.5, y_mm=-2.25, z_mm=33.0)


class Patient(SmallPrinter):
    """Remembers how long each order may take."""

    def __init__(self) -> None:
        super().__init__()
        self.deadlines_s: dict[str, float] = {}

    async def do(
        self, command: str, *, deadline_s: float, usual_s: float = 0.0, heating: bool = False
    ) -> Reply:
        self.deadlines_s.setdefault(command, deadline_s)
        return await super().do(command, deadline_s=deadline_s, usual_s=usual_s, heating=heating)


def test_an_order_may_take_half_as_long_again_as_its_way_at_its_speed_and_three_seconds():
    """From (0, 0): 150 mm and 200 mm across make 250 mm, at 50 mm/s; 8 mm down at 5 mm/s."""
    printer = Patient()
    machine = ready(printer, **LOPSIDED)
    in_jumping_time(machine.go_over(150, 200))
    in_jumping_time(machine.go_over(30, 40))  # back by 200 mm
    in_jumping_time(machine.lower_to(0.0))
    in_jumping_time(machine.settle(4.0))
    assert printer.deadlines_s["G1 X150 Y200 F3000"] == pytest.approx(5.0 * 1.5 + 3.0)
    assert printer.deadlines_s["G1 X30 Y40 F3000"] == pytest.approx(4.0 * 1.5 + 3.0)
    assert printer.deadlines_s["G1 Z2 F300"] == pytest.approx(8.0 / 5.0 * 1.5 + 3.0)
    assert printer.deadlines_s["G4 P4000"] == pytest.approx(4.0 * 1.5 + 3.0)
    assert printer.deadlines_s["G28"] >= 120.0
    assert printer.deadlines_s["M114"] == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("heated", "goes_down", "connections"), [(False, True, 1), (True, False, 1), (True, True, 2)]
)
def test_a_line_is_opened_again_at_the_end_only_to_switch_off_what_is_on(
    heated: bool, goes_down: bool, connections: int
):
    printer = SmallPrinter()
    machine = ready(printer, **LOPSIDED)
    machine.heaters.may_be_on = heated
    if goes_down:
        printer.fail("unplugged")
    in_jumping_time(machine.safe_at_last())
    assert printer.connections == connections
    assert printer.bed_target_c == 0.0


def test_halting_forbids_motion_before_the_line_has_said_anything():
    class Mute(SmallPrinter):
        def halt(self) -> None:
            self.commands.append("M112")

    printer = Mute()
    machine = ready(printer, **LOPSIDED)
    machine.halt("page")
    assert printer.commands == ["M112"]
    assert not machine.homed
    with pytest.raises(MotionForbidden, match="halted"):
        machine.permit.check()
