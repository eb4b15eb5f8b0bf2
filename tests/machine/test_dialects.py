"""Dialects: found by name, or by how the controller introduces itself."""

import pytest
from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.errors import PluginError
from hostctl.link.reply import Reply
from hostctl.machine.dialects.dialect import DIALECTS
from hostctl.machine.dialects.number import plain
from hostctl.machine.machine import Machine
from hostctl.protocol.replies import events_in

# Only classic has to be told to keep its motors on.
FIRST_WORDS = {"classic": ["G21", "G90", "M84 S0", "M117 -"], "terse": ["G21", "G90", "M117 -"]}


def first_words(asked: str | None, *introductions: str) -> list[str]:
    """What a machine says of its own accord, first of all, to a controller so introduced."""
    printer = SmallPrinter(firmware=introductions[0])
    printer.introductions = list(introductions[1:])
    machine = Machine(machine_file(dialect=asked), printer)

    async def begin() -> None:
        await machine.connect()
        await machine.message("-")

    in_jumping_time(begin())
    return printer.commands[printer.commands.index("G21") :]


@pytest.mark.parametrize(
    ("asked", "introductions", "name"),
    [
        (None, ["FIRMWARE_NAME:bench terse 1"], "terse"),
        (None, ["FIRMWARE_NAME:bench classic 1"], "classic"),
        (None, ["FIRMWARE_NAME:something else"], "classic"),
        (None, ["", "FIRMWARE_NAME:bench terse 1"], "terse"),  # the first was damaged
        ("terse", ["FIRMWARE_NAME:bench classic 1"], "terse"),
    ],
)
def test_the_file_decides_then_the_introduction_then_classic(asked, introductions, name):
    assert first_words(asked, *introductions) == FIRST_WORDS[name]


def test_an_unknown_dialect_is_an_error_that_lists_those_there_are():
    with pytest.raises(PluginError, match=r"Did you mean 'classic'\? Installed: classic, terse"):
        first_words("clasic", "FIRMWARE_NAME:bench classic 1")


# The forms of a probe's answer, each dialect's own.
ANSWERS = {
    "classic": "Bed X: 30.00 Y: 30.00 Z: 0.0125",
    "terse": "// probe at 30.000,30.000 is z=0.012500",
}


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_a_touch_is_ordered_and_its_height_found(name):
    dialect = DIALECTS.find(name)()
    said = Reply(command="G30", line=1, events=events_in(ANSWERS[name]))
    assert dialect.probe(30.0, 30.125) == "G30 X30 Y30.125"
    assert dialect.probe_height_mm(said) == 0.0125


@pytest.mark.parametrize("name", sorted(ANSWERS))
def test_an_answer_without_a_height_holds_none(name):
    nothing = Reply(command="G30", line=1, events=())
    assert DIALECTS.find(name)().probe_height_mm(nothing) is None


@pytest.mark.parametrize(
    ("value", "text"),
    [(12.5, "12.5"), (3.0, "3"), (-0.0001, "0"), (0.0005, "0.001"), (1e-9, "0"), (250.0, "250")],
)
def test_numbers_go_out_plainly(value, text):
    assert plain(value) == text
