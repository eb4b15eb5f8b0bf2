"""Contacts that tell by themselves: a controller's input, and a line through a fake of the GPIO
library's boundary."""

import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.parts.tie import Tie
from hostctl.errors import ConfigError, MachineError
from hostctl.gauges.contact import (
    READS,
    TRIES,
    Bounces,
    Contact,
    InputContact,
    LineContact,
    contact_for,
)
from hostctl.gpio.lines import Edge, WantedLines
from hostctl.machine.machine import Machine
from hostctl.protocol.events import Event, Unrecognised

WANTED = WantedLines(where="study 's': tie", chip="/dev/gpiochip0", line=17, closed_is_low=True)


class SayingPrinter(SmallPrinter):
    """Answers M119 with what is next in `says`, the last for good."""

    def __init__(self, *says: str) -> None:
        super().__init__()
        self.says = list(says)
        self.asked = 0

    def _told(self, code: str, words: dict[str, float]) -> tuple[Event, ...]:
        if code != "M119":
            return super()._told(code, words)
        self.asked += 1
        said = self.says.pop(0) if len(self.says) > 1 else self.says[0]
        return tuple(Unrecognised(text=line) for line in said.splitlines())


class FakeLine:
    """`levels`: what each read finds, the last for good; an error is raised."""

    fd = -1

    def __init__(self, *levels: bool | OSError) -> None:
        self.levels = list(levels)
        self.reads = 0
        self.released = False

    def closed(self) -> bool:
        self.reads += 1
        level = self.levels.pop(0) if len(self.levels) > 1 else self.levels[0]
        if isinstance(level, OSError):
            raise level
        return level

    def edges(self) -> Sequence[Edge]:
        return []

    def lamp(self, *, lit: bool) -> None:
        raise AssertionError("there is no lamp")

    def release(self) -> None:
        self.released = True


def by_input(*says: str, closed: str = "triggered") -> tuple[InputContact, SayingPrinter]:
    printer = SayingPrinter(*says)
    machine = Machine(machine_file(), printer)
    in_jumping_time(machine.connect())
    return InputContact(machine, "Z_Min", closed), printer


def by_line(*levels: bool | OSError) -> tuple[LineContact, FakeLine]:
    line = FakeLine(*levels)
    return LineContact(WANTED, lambda wanted: line), line


def look(contact: Contact) -> bool:
    return in_jumping_time(contact.closed())


@pytest.mark.parametrize(
    ("said", "closed"),
    [
        ("z_min: TRIGGERED", True),
        ("z_min: open", False),
        ("x_min:open y_min:TRIGGERED z_min:TRIGGERED", True),
        ("x_min: TRIGGERED\nz_min: open", False),
    ],
)
def test_an_input_tells_in_the_board_s_own_wording(said, closed):
    contact, printer = by_input(said)
    assert look(contact) is closed
    assert printer.asked == READS


@pytest.mark.parametrize(("level", "closed"), [(True, True), (False, False)])
def test_a_line_tells(level, closed):
    contact, line = by_line(level)
    assert look(contact) is closed
    assert line.reads == READS


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("differs", range(1, READS))
def test_reads_that_differ_within_one_look_are_bouncing_and_tell_nothing(first, differs):
    levels = [first] * READS
    levels[differs] = not first
    with pytest.raises(Bounces, match="contact bounces"):
        look(by_line(*levels)[0])
    words = {True: "z_min: TRIGGERED", False: "z_min: open"}
    with pytest.raises(Bounces, match="contact bounces"):
        look(by_input(*(words[level] for level in levels))[0])


def test_an_unknown_name_is_told_in_one_line_with_the_names_there_are():
    contact, printer = by_input("x_min: open\ny_min: open")
    with pytest.raises(MachineError, match=r"input 'Z_Min'.*of these: x_min, y_min\.") as told:
        look(contact)
    assert "\n" not in str(told.value)
    assert printer.asked == TRIES
    with pytest.raises(MachineError, match="of these: none"):
        look(by_input("nothing of the kind")[0])


def test_a_report_damaged_on_the_way_is_asked_for_again():
    contact, printer = by_input("z_min: open")
    assert not look(contact)
    printer.says = ["z_m#n: open", "z_min: o~en", "z_min: TRIGGARED", "z_min: open"]
    assert not look(contact)
    printer.says = ["z_min: TRIGG RED", "z_min: TRIGGERED"]
    assert look(contact)


def test_a_word_that_is_neither_is_never_taken_for_open():
    """A closed-word that the board never says would send the nozzle on to its floor."""
    contact, printer = by_input("z_min: open", closed="closed")
    assert not look(contact)
    printer.says = ["z_min: TRIGGERED"]
    with pytest.raises(MachineError, match=r"says 'triggered', neither 'open' nor 'closed'.*mend"):
        look(contact)


def test_a_line_that_went_away_is_an_error():
    with pytest.raises(MachineError, match=r"gpiochip0 line 17: the line can't be read \(gone\)"):
        look(by_line(False, OSError("gone"))[0])


def test_a_line_is_given_back_and_an_input_holds_nothing():
    contact, line = by_line(False)
    in_jumping_time(contact.close())
    assert line.released
    held, printer = by_input("z_min: open")
    in_jumping_time(held.close())
    assert printer.asked == 0


# ------------------------------------------------------------ which one


def tie(**changes: Any) -> Tie:
    words = {"by": "touch", "beyond_mm": 0.01, "plate_mm": 0.5, "isolated": True}
    return Tie.model_validate(words | changes, strict=False)


def test_the_study_says_which_contact_it_is(monkeypatch):
    asked: list[WantedLines] = []
    monkeypatch.setitem(sys.modules, "hostctl.gpio.kernel_lines", module := ModuleType("lines"))
    module.KernelLines = lambda wanted: asked.append(wanted) or FakeLine(True)  # type: ignore[attr-defined]  # a module made up
    _, printer = by_input("z_min: open")
    machine = Machine(machine_file(), printer)
    assert contact_for(tie(contact="lamp"), machine, "study 's'") is None
    assert isinstance(
        contact_for(tie(contact="input", input="z_min"), machine, "study 's'"), InputContact
    )
    line = contact_for(tie(contact="line", line=4, closed_is_low=False), machine, "study 's'")
    assert line is not None
    assert look(line)
    assert [(one.chip, one.line, one.closed_is_low) for one in asked] == [
        ("/dev/gpiochip0", 4, False)
    ]


def test_without_the_library_it_is_said_what_to_install_or_do_instead(monkeypatch):
    monkeypatch.setitem(sys.modules, "hostctl.gpio.kernel_lines", None)
    machine = Machine(machine_file(), SayingPrinter("-"))
    with pytest.raises(ConfigError, match=r"gpiod library.*\[gpio\], or say 'contact: lamp'\."):
        contact_for(tie(contact="line", line=4), machine, "study 's'")


@pytest.mark.parametrize("contact", [{"contact": "input", "input": "z"}, {"contact": "line"}])
def test_what_is_not_isolated_is_refused_by_the_file_and_once_more_here(contact):
    with pytest.raises(ValueError, match="isolating coupler"):
        tie(**contact, line=4, isolated=False)
    bare = tie(**contact, line=4).model_copy(update={"isolated": False})
    machine = Machine(machine_file(), SayingPrinter("-"))
    with pytest.raises(ConfigError, match="isolating coupler only"):
        contact_for(bare, machine, "study 's'")
