"""Heat: looked at calmly while hands may be in, told in words, and off when it is nobody's."""

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.errors import MachineError
from hostctl.machine.heat import aims_in_words, heat_in_words
from hostctl.machine.machine import Machine
from hostctl.records import Heat


async def nobody_looks(heat: Heat) -> None:
    """Nothing comes of how warm it is."""


def connected(printer: SmallPrinter) -> Machine:
    machine = Machine(machine_file(), printer)
    in_jumping_time(machine.connect())
    printer.commands.clear()
    return machine


def changing(printer: SmallPrinter, part: str, *targets_c: float) -> None:
    """What its next reports say that a part aims at."""
    told = iter(targets_c)

    def tell(command: str) -> None:
        if command == "M105":
            setattr(printer, f"{part}_target_c", next(told, 0.0))

    printer.before = tell


@pytest.mark.parametrize("part", ["nozzle", "bed"])
def test_a_heater_that_nobody_of_ours_switched_on_is_switched_off_and_told(part):
    printer = SmallPrinter()
    machine = connected(printer)
    setattr(printer, f"{part}_target_c", 55.0)
    with pytest.raises(MachineError, match=f"somebody else heated the {part} to 55 °C") as told:
        in_jumping_time(machine.heaters.check_calm())
    assert "Take your hands out" in told.value.next_step
    assert (printer.nozzle_target_c, printer.bed_target_c) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("refuses", "told"),
    [(set(), "All heaters are off now."), ({"M140"}, "the heaters could not be switched off")],
)
def test_whether_the_heat_of_others_is_off_again_is_told(refuses, told):
    printer = SmallPrinter()
    machine = connected(printer)
    printer.bed_target_c, printer.refuses = 55.0, refuses
    with pytest.raises(MachineError, match="somebody else heated the bed") as problem:
        in_jumping_time(machine.heaters.check_calm())
    assert told in problem.value.next_step


@pytest.mark.parametrize("part", ["nozzle", "bed"])
def test_one_damaged_target_is_nobodys_heat(part):
    printer = SmallPrinter()
    machine = connected(printer)
    changing(printer, part, 80.0)
    in_jumping_time(machine.heaters.check_calm())
    assert printer.commands == ["M105", "M105"]


def test_the_bed_may_aim_where_we_told_it_to_and_nowhere_else():
    printer = SmallPrinter()
    machine = connected(printer)
    in_jumping_time(machine.heaters.warm_bed(50.0, 0.0, nobody_looks))
    in_jumping_time(machine.heaters.check_calm())
    printer.bed_target_c = 58.0
    with pytest.raises(MachineError, match="somebody else heated the bed to 58 °C"):
        in_jumping_time(machine.heaters.check_calm())


def test_a_bed_that_we_switched_off_may_not_be_on_again():
    printer = SmallPrinter()
    machine = connected(printer)
    in_jumping_time(machine.heaters.warm_bed(50.0, 0.0, nobody_looks))
    in_jumping_time(machine.heaters.off())
    printer.bed_target_c = 50.0
    with pytest.raises(MachineError, match="somebody else heated the bed to 50 °C"):
        in_jumping_time(machine.heaters.check_calm())


def test_a_part_that_is_hot_is_told_though_its_heater_is_off():
    printer = SmallPrinter()
    machine = connected(printer)
    printer.nozzle_c = 51.0
    with pytest.raises(MachineError, match="the nozzle is at 51 °C, and hands are near it"):
        in_jumping_time(machine.heaters.check_calm())
    printer.nozzle_c, printer.damaged_nozzle_c = 21.0, [91.0, 91.0]
    in_jumping_time(machine.heaters.check_calm())


@pytest.mark.parametrize(
    ("heat", "aims", "words"),
    [
        (Heat(nozzle_c=21.0, nozzle_target_c=0.0, bed_c=34.9, bed_target_c=0.0), "", ""),
        (Heat(), "", ""),
        (Heat(nozzle_c=21.0, bed_c=35.0), "", "bed 35 °C, its heater is off"),
        (
            Heat(nozzle_c=180.4, nozzle_target_c=200.0, bed_c=38.0, bed_target_c=40.0),
            "nozzle heating to 200 °C, bed heating to 40 °C",
            "nozzle 180 °C, aims at 200 °C; bed 38 °C, aims at 40 °C",
        ),
        (
            Heat(bed_target_c=40.0),
            "bed heating to 40 °C",
            "bed at an unknown temperature, aims at 40 °C",
        ),
    ],
)
def test_heat_in_words(heat: Heat, aims: str, words: str):
    assert aims_in_words(heat) == aims
    assert heat_in_words(heat) == words


def test_a_heater_that_could_not_be_switched_off_is_told_so_again_at_rest():
    printer = SmallPrinter()
    machine = connected(printer)
    in_jumping_time(machine.heaters.warm_bed(50.0, 0.0, nobody_looks))
    printer.refuses = {"M104", "M140"}
    assert "could not be switched off" in (in_jumping_time(machine.make_safe()) or "")
    assert printer.bed_target_c == 50.0
    printer.refuses = set()
    in_jumping_time(machine.heaters.look_at_rest())
    assert printer.bed_target_c == 0.0
    printer.commands.clear()
    in_jumping_time(machine.heaters.look_at_rest())
    assert printer.commands == ["M105"]  # what is off is not told again and again


def test_a_heater_found_on_that_refuses_to_go_off_is_kept_in_mind():
    printer = SmallPrinter()
    printer.bed_target_c, printer.refuses = 40.0, {"M140"}
    machine = Machine(machine_file(), printer)
    with pytest.raises(MachineError, match="refused 'M140 S0'"):
        in_jumping_time(machine.connect())
    assert machine.heaters.may_be_on
    printer.refuses = set()
    in_jumping_time(machine.heaters.take_over())
    assert printer.bed_target_c == 0.0
    assert not machine.heaters.may_be_on


def test_what_was_not_off_when_the_line_was_lost_is_not_forgotten_as_it_is_found_off():
    printer = SmallPrinter()
    machine = connected(printer)
    in_jumping_time(machine.heaters.warm_bed(50.0, 0.0, nobody_looks))
    printer.bed_target_c, printer.refuses = 0.0, {"M140"}  # it is off, and won't say so
    with pytest.raises(MachineError, match="refused 'M140 S0'"):
        in_jumping_time(machine.heaters.take_over())
    assert machine.heaters.may_be_on


def test_a_nozzle_heater_that_refuses_keeps_no_bed_on():
    printer = SmallPrinter()
    machine = connected(printer)
    printer.refuses, printer.bed_target_c = {"M104"}, 50.0
    assert "refused 'M104 S0'" in (in_jumping_time(machine.make_safe()) or "")
    assert printer.bed_target_c == 0.0
