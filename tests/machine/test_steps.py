"""To a place from one side, to a height from one side, and down slowly all the way."""

from itertools import pairwise

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.machine import Indicator
from hostctl.config.parts.loop import Side
from hostctl.errors import MachineError
from hostctl.machine.envelope import Way
from hostctl.machine.machine import Machine


def ready(printer: SmallPrinter, **changes: object) -> Machine:
    machine = Machine(machine_file(**changes), printer)

    async def get_ready() -> None:
        await machine.connect()
        machine.permit.give()
        await machine.home()

    in_jumping_time(get_ready())
    printer.commands.clear()
    return machine


def heights(printer: SmallPrinter) -> list[float]:
    return [float(move.split("Z")[1].split(" ")[0]) for move in printer.moves]


def test_the_whole_of_a_slow_descent_is_slow_and_in_short_steps():
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(4.5, slowly=True))
    z_mm = [10.0, *heights(printer)]
    assert z_mm[-1] == 4.5
    assert all(0 < above - below <= 1.0 for above, below in pairwise(z_mm))
    assert {move.split("F")[1] for move in printer.moves} == {"60"}


def test_a_hold_stops_a_slow_descent_within_one_step():
    printer = SmallPrinter()
    machine = ready(printer)

    def hold(command: str) -> None:
        if command.startswith("G1 Z7"):
            machine.permit.withdraw("hold was said")

    printer.before = hold
    with pytest.raises(MachineError, match="hold was said"):
        in_jumping_time(machine.lower_to(0.0, slowly=True))
    assert printer.at.z > 6.0
    assert machine.homed


@pytest.mark.parametrize(("side", "first_x"), [("left", "G1 X90 Y50"), ("right", "G1 X110 Y50")])
def test_a_place_is_come_to_from_one_side_at_the_clear_height(side: Side, first_x: str):
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(5.0))
    printer.commands.clear()
    in_jumping_time(machine.come_from(100, 50, side, 10))
    moves = [move.rpartition(" F")[0] for move in printer.moves]
    assert moves == ["G1 Z10", first_x, "G1 X100 Y50"]
    assert printer.offences == []


@pytest.mark.parametrize(("x_mm", "side"), [(5.0, "left"), (215.0, "right"), (230.0, "left")])
def test_without_room_on_that_side_nothing_moves(x_mm: float, side: Side):
    printer = SmallPrinter()
    machine = ready(printer)
    with pytest.raises(MachineError, match="outside the travel"):
        in_jumping_time(machine.come_from(x_mm, 50, side, 10))
    assert printer.commands == []
    assert machine.homed


@pytest.mark.parametrize(
    ("way", "begins_z_mm", "turns_at"), [("below", 5.0, 3.8), ("above", 4.0, 4.2)]
)
def test_a_height_is_come_to_from_one_side(way: Way, begins_z_mm: float, turns_at: float):
    """Small moves up need not go by the clear height."""
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(begins_z_mm))
    printer.commands.clear()
    in_jumping_time(machine.step_to(4.0, coming_from=way, overrun_mm=0.2))
    z_mm = heights(printer)
    assert turns_at in z_mm
    assert z_mm[-1] == 4.0
    assert max(z_mm) <= 5.0
    assert {move.split("F")[1] for move in printer.moves} == {"60"}


def test_coming_from_where_it_already_is_beyond_there_is_no_turn():
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(5.0))
    printer.commands.clear()
    in_jumping_time(machine.step_to(4.0, coming_from="above", overrun_mm=0.2))
    assert heights(printer) == [4.0]


@pytest.mark.parametrize(
    ("z_mm", "way", "given"),
    [
        (1.1, "below", {}),  # it would go below 1 mm above the bed on its way
        (0.9, "above", {}),
        (9.9, "above", {}),  # above the clear height
        (3.0, "below", {"indicator": Indicator(travel_mm=2.7, reading_z_mm=2.1)}),
    ],
)
def test_a_height_out_of_bounds_is_refused_and_nothing_moves(
    z_mm: float, way: Way, given: dict[str, object]
):
    printer = SmallPrinter()
    machine = ready(printer, **given)
    if given:
        z_mm = machine.envelope.lowest_z_mm + 0.1
    with pytest.raises(MachineError, match=r"where the head may step .* nothing was sent"):
        in_jumping_time(machine.step_to(z_mm, coming_from=way, overrun_mm=0.2))
    assert printer.commands == []
    assert machine.homed


def test_things_laid_in_the_machine_raise_the_lowest_step():
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.step_to(4.0, coming_from="above", overrun_mm=0.2))
    machine.envelope.things_stand_mm = 3.5
    with pytest.raises(MachineError, match=r"not within 4\.5 and"):
        in_jumping_time(machine.step_to(4.0, coming_from="above", overrun_mm=0.2))


def test_no_overrun_is_no_way():
    machine = ready(SmallPrinter())
    with pytest.raises(MachineError, match="coming from below by 0 mm is no way"):
        in_jumping_time(machine.step_to(4.0, coming_from="below", overrun_mm=0.0))


def test_homed_once_more_it_rises_first_and_forgets_where_it_was():
    """As after the bed was turned."""
    printer = SmallPrinter()
    machine = ready(printer)
    in_jumping_time(machine.lower_to(5.0))
    printer.commands.clear()
    in_jumping_time(machine.home())
    assert [move.rpartition(" F")[0] or move for move in printer.moves][:2] == ["G1 Z10", "G28"]
    assert machine.homed
