"""A machine that several observe: each hears, and one that fails keeps nothing from being safe."""

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.errors import HostctlError, LinkError
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden


def ready(printer: SmallPrinter) -> Machine:
    """Connected, allowed to move, homed."""
    machine = Machine(machine_file(), printer)

    async def get_ready() -> None:
        await machine.connect()
        machine.permit.give()
        await machine.home()

    in_jumping_time(get_ready())
    return machine


def fails(fault: HostctlError) -> None:
    raise RuntimeError(f"an observer that can't bear to hear of {fault.what}")


def test_two_hear_of_a_fault_and_the_other_still_does_once_one_is_gone():
    printer = SmallPrinter()
    machine = ready(printer)
    first: list[HostctlError] = []
    second: list[HostctlError] = []
    remove = machine.on_fault.add(first.append)
    machine.on_fault.add(second.append)

    printer.fail("unplugged")
    remove()
    machine.halt("page")  # whose line is down: told as a fault too

    assert [fault.what for fault in first] == ["unplugged"]
    assert [fault.what.split(":")[0] for fault in second] == [
        "unplugged",
        "it could not be told to halt",
    ]


@pytest.mark.observer_may_fail
def test_one_that_fails_keeps_neither_the_next_nor_the_machine_from_stopping():
    printer = SmallPrinter()
    machine = ready(printer)
    heard: list[HostctlError] = []
    machine.on_fault.add(fails)
    machine.on_fault.add(heard.append)

    printer.fail("unplugged")

    assert [fault.what for fault in heard] == ["unplugged"]
    assert (machine.connected, machine.homed) == (False, False)
    with pytest.raises(MotionForbidden, match="the line to the machine went down"):
        machine.permit.check()


@pytest.mark.observer_may_fail
def test_one_that_fails_before_the_machine_hears_keeps_it_from_nothing():
    printer = SmallPrinter()
    printer.on_fault.add(fails)
    machine = ready(printer)

    printer.fail("unplugged")

    assert (machine.connected, machine.homed) == (False, False)
    with pytest.raises(MotionForbidden):
        machine.permit.check()


def test_a_machine_that_let_the_line_go_hears_no_more_of_it():
    printer = SmallPrinter()
    before, after = ready(printer), Machine(machine_file(), printer)
    faults: list[tuple[str, str]] = []
    errors: list[tuple[str, str]] = []
    for name, machine in (("before", before), ("after", after)):
        machine.on_fault.add(lambda fault, name=name: faults.append((name, fault.what)))
        machine.troubles.on_error.add(lambda text, name=name: errors.append((name, text)))

    before.let_go()
    printer.on_error.tell("probe failed", True)
    printer.on_fault.tell(LinkError("small printer", "unplugged", "Plug it in."))

    assert errors == [("after", "probe failed")]
    assert faults == [("after", "unplugged")]
