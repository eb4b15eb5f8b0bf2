"""A board that runs a job of its own: each sign alone, no false alarm, and only asked from then."""

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import At, SmallPrinter

from hostctl.errors import MachineError
from hostctl.machine.controller.own_job import OwnJob
from hostctl.machine.machine import Machine
from hostctl.protocol.events import Busy, Info, Unrecognised

ASKS = {"M27", "M105", "M114"}


def going_on(printer: SmallPrinter, step_mm: float = 0.1, axis: str = "x") -> None:
    """Something moves its head, between any two orders."""

    def move(command: str) -> None:
        at = {name: getattr(printer.at, name) for name in "xyz"}
        printer.at = At(**(at | {axis: at[axis] + step_mm}))

    printer.before = move


def connecting(printer: SmallPrinter) -> Machine:
    machine = Machine(machine_file(), printer)
    in_jumping_time(machine.connect())
    return machine


CARD = [Unrecognised(text="SD printing byte 123/4567")]


@pytest.mark.parametrize("text", ["SD printing byte 123/4567", "sd printing byte 123 / 4567"])
def test_a_job_from_its_card_is_a_job(text):
    printer = SmallPrinter()
    printer.of_its_card = [Unrecognised(text=text)]
    with pytest.raises(OwnJob, match="its card is at byte 123 of 4567"):
        connecting(printer)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_head_that_moves_unbidden_is_a_job(axis):
    printer = SmallPrinter()
    going_on(printer, axis=axis)
    with pytest.raises(OwnJob, match="its head moves"):
        connecting(printer)


def test_a_nozzle_that_heats_is_a_job():
    printer = SmallPrinter()
    printer.nozzle_target_c = 180.0
    with pytest.raises(OwnJob, match="its nozzle is heating to 180 °C"):
        connecting(printer)


def test_a_busy_board_is_a_job():
    printer = SmallPrinter()
    printer.of_its_card = [Busy(text="processing")]
    with pytest.raises(OwnJob, match="it says that it is busy"):
        connecting(printer)


@pytest.mark.parametrize(
    "said",
    [
        [],
        [Unrecognised(text="Not SD printing")],
        [Info(text='Unknown command: "M27"')],
        [Unrecognised(text="SD printing byte ?/?")],
    ],
)
def test_an_answer_that_is_no_sign_is_no_fault(said):
    printer = SmallPrinter()
    printer.of_its_card = said
    assert connecting(printer).ours


def test_a_board_that_refuses_the_question_is_ours():
    printer = SmallPrinter()
    printer.refuses = {"M27"}
    assert connecting(printer).ours
    assert printer.commands.count("M27") == 1


def test_a_board_that_says_neither_place_nor_heat_is_asked_and_then_ours():
    printer = SmallPrinter()
    printer.mute = {"M114", "M105"}
    with pytest.raises(MachineError, match="does not say its temperatures"):
        connecting(printer)
    printer.mute = {"M114"}
    assert connecting(printer).ours


def test_one_damaged_report_of_its_place_is_no_job():
    printer = SmallPrinter()
    places = iter([At(77.0, 88.0, 3.0), At(77.0, 8.0, 3.0)])

    def damage(command: str) -> None:
        if command == "M114":
            printer.at = next(places, At(77.0, 88.0, 3.0))

    printer.before = damage
    assert connecting(printer).ours


def test_one_damaged_report_of_its_heat_is_no_job():
    printer = SmallPrinter()
    told = iter([4.0])

    def damage(command: str) -> None:
        printer.nozzle_target_c = next(told, 0.0) if command == "M105" else 0.0

    printer.before = damage
    assert connecting(printer).ours


def test_while_it_runs_its_own_job_it_is_only_asked_whatever_is_wanted():
    printer = SmallPrinter()
    printer.of_its_card, printer.bed_target_c = CARD, 60.0
    machine = Machine(machine_file(), printer)
    with pytest.raises(OwnJob, match="STOP halts the machine"):
        in_jumping_time(machine.connect())
    assert not machine.ours
    machine.permit.give()
    for wanted in (machine.home, machine.lift, machine.beep, machine.heaters.off):
        with pytest.raises(MachineError):
            in_jumping_time(wanted())
    assert "could not be switched off" in (in_jumping_time(machine.make_safe()) or "")
    assert set(printer.commands) <= ASKS
    assert printer.bed_target_c == 60.0


def test_a_job_that_begins_later_is_noticed_when_it_is_asked_again_and_costs_the_position():
    printer = SmallPrinter()
    machine = connecting(printer)
    machine.permit.give()
    in_jumping_time(machine.home())
    printer.of_its_card = CARD
    with pytest.raises(OwnJob):
        in_jumping_time(machine.check_ours())
    assert (machine.ours, machine.homed) == (False, False)


def test_a_job_that_is_over_leaves_a_board_to_be_taken_over():
    printer = SmallPrinter()
    printer.of_its_card = CARD
    machine = Machine(machine_file(), printer)
    with pytest.raises(OwnJob):
        in_jumping_time(machine.connect())
    printer.of_its_card = []
    in_jumping_time(machine.make_ready())
    assert machine.ours
    assert printer.connections == 1
    assert {"M104 S0", "M140 S0", "G21", "G90", "M84 S0"} <= set(printer.commands)


def test_what_was_found_heated_is_told_and_off():
    printer = SmallPrinter()
    printer.bed_target_c = 40.0
    machine = connecting(printer)
    assert machine.heaters.found_on == "bed heating to 40 °C"
    assert printer.bed_target_c == 0.0
    assert machine.heaters.may_be_on is False
    in_jumping_time(machine.make_ready())
    assert machine.heaters.found_on == ""
