"""The machine file made of answers: it passes `check`, and has exactly what was answered."""

import os
import random
import re
from contextlib import suppress
from datetime import date

import pytest
from a_printer import all_answered

from hostctl.config.find import SHIPPED
from hostctl.config.load import machine_from
from hostctl.config.machine import Heat, Machine, ResendsAllowed, Speeds
from hostctl.config.yaml_text import Source, parse
from hostctl.drafts.machine.known import points
from hostctl.drafts.machine_file import machine_text
from hostctl.drafts.machine_questions import next_machine_question
from hostctl.drafts.question import Question, Unclear, Value, understood
from hostctl.drafts.yaml_lines import WIDEST, plain

DRAWN = int(os.environ.get("HOSTCTL_DRAWN_MACHINES", "30"))
ON = date(2026, 11, 29)
NAMES = ("true", "null", "1e5", "0", "12", "0-1", "a", "no", "infinity", "x" * 40)
PORTS = (
    "/dev/serial/by-id/usb-Bench_1-if00-port0",
    "sim://workshop-220?seed=7&speed=max",
    "socket://[fe80::1]:2000",
    "COM3: # of the bench's",
    "null",
    "- {\"a\": 'b'} \\ \N{DEGREE SIGN} \N{HAMMER AND WRENCH}",
)


def drawn_answer(question: Question, chance: random.Random) -> str:
    """What the person types: as suggested, or any that might do."""
    if question.suggested and chance.random() < 0.6:
        return ""
    match question.key.split(".")[-1], question.kind:
        case "machine" | "name", _:
            return chance.choice([*NAMES, f"place-{chance.randrange(10**6)}"])
        case "port", _:
            return chance.choice(PORTS)
        case _, "choice":
            return chance.choice(question.ways).word
        case _, "whole":
            return str(chance.choice([1, 5, 9, 1200, 250_000]))
        case _:
            digits = chance.choice([0, 1, 3, 15])
            return repr(round(chance.choice([1, 10, 300]) * chance.uniform(-0.3, 1), digits))


def drawn_facts(chance: random.Random) -> dict[str, Value]:
    """A person's answers, most of which are refused at first, and what was measured after them."""
    facts: dict[str, Value] = {}
    while (question := next_machine_question(facts)) is not None:
        for _ in range(400):
            with suppress(Unclear):
                facts[question.key] = understood(question, drawn_answer(question, chance))
                break
        else:  # an answer before it leaves nothing: they go back to it
            assert question.suggested == ""
            facts = dict(list(facts.items())[: max(0, len(facts) - 6)])
    return {**facts, **measured(facts, chance)}


def measured(facts: dict[str, Value], chance: random.Random) -> dict[str, Value]:
    if chance.random() < 0.1:
        return {}
    travel_mm = float(str(facts["indicator.travel_mm"]))
    found: dict[str, Value] = {
        "found.reading_z_mm": travel_mm * chance.uniform(0.0, 0.79),
        "found.pre_load_mm": 0.2 + 0.01 * chance.random(),
        "dialect": chance.choice(["terse", None]),
    }
    if chance.random() < 0.7:
        for axis in ("x", "y"):
            rough_mm = float(str(facts[f"indicator.rough_{axis}_mm"]))
            found[f"found.offset_{axis}_mm"] = rough_mm + chance.uniform(-3, 3)
    for index in range(int(str(facts["screws.count"]))):
        if chance.random() < 0.7:
            name = facts[f"screws.{index}.name"]
            found[f"found.raises.{name}"] = chance.choice(["clockwise", "anticlockwise"])
    return found


def is_as_answered(machine: Machine, facts: dict[str, Value]) -> None:
    assert machine.machine == facts["machine"]
    assert machine.port == facts["port"]
    assert machine.baud == facts["baud"]
    assert machine.dialect == facts.get("dialect")
    for axis in ("x", "y", "z"):
        span = getattr(machine.travel, axis)
        assert span.from_mm == facts[f"travel.{axis}.from_mm"]
        assert span.to_mm == facts[f"travel.{axis}.to_mm"]
    assert machine.highest_point_mm == facts["highest_point_mm"]
    assert machine.heat == Heat(mains_bed=facts["heat.mains_bed"])
    assert (machine.speeds, machine.noise) == (Speeds(), ResendsAllowed())
    assert (machine.lift_mm, machine.dry_cycles, machine.park) == (5.0, 5, None)
    assert [(p.name, p.x_mm, p.y_mm) for p in machine.points] == [
        (p.name, p.x_mm, p.y_mm) for p in points(facts)
    ]
    for index, screw in enumerate(machine.screws):
        at = f"screws.{index}"
        assert screw.name == facts[f"{at}.name"]
        assert (screw.x_mm, screw.y_mm) == (facts[f"{at}.x_mm"], facts[f"{at}.y_mm"])
        assert screw.pitch_mm == facts["screws.pitch_mm"]
        assert screw.seen_from == facts["screws.seen_from"]
        assert screw.raises_bed == facts.get(f"found.raises.{screw.name}", "clockwise")
    assert len(machine.screws) == facts["screws.count"]


def indicator_is_as_measured(machine: Machine, facts: dict[str, Value]) -> None:
    if "found.reading_z_mm" not in facts:
        assert machine.indicator is None
        return
    tip = machine.indicator
    assert tip is not None
    for axis, offset_mm in (("x", tip.offset_x_mm), ("y", tip.offset_y_mm)):
        rough = facts[f"indicator.rough_{axis}_mm"]
        assert offset_mm == facts.get(f"found.offset_{axis}_mm", rough)
    assert tip.reading_z_mm == facts["found.reading_z_mm"]
    assert tip.pre_load_mm == facts["found.pre_load_mm"]
    assert tip.travel_mm == facts["indicator.travel_mm"]


@pytest.mark.slow
def test_whatever_is_answered_the_file_is_right_and_says_exactly_that() -> None:
    for seed in range(DRAWN):
        facts = drawn_facts(random.Random(seed))
        text = machine_text(facts, ON)
        machine = machine_from(Source(f"seed {seed}", text))
        is_as_answered(machine, facts)
        indicator_is_as_measured(machine, facts)
        untried = [s.name for s in machine.screws if f"found.raises.{s.name}" not in facts]
        assert re.findall(r"NOT TRIED at (\S+):", text) == untried
        assert ("measured by `hostctl begin`, 2026-11-29" in text) == (
            machine.indicator is not None
        )
        assert max(len(line) for line in text.splitlines() if "{" not in line) <= WIDEST


@pytest.mark.parametrize(
    "text", [*NAMES, *PORTS, "True", "~", "yes", "a: b", "a #b", "'", '"', ":"]
)
def test_any_text_is_read_back_as_it_was(text: str) -> None:
    for line in (f"key: {plain(text)}", f"key: {{name: {plain(text)}, x: 1}}"):
        data = parse(Source("here", line)).data
        assert isinstance(data, dict)
        found = data["key"]
        assert (found["name"] if isinstance(found, dict) else found) == text


def comments(text: str) -> dict[str, str]:
    """What stands behind each key, and goes on below it."""
    found: dict[str, str] = {}
    key = ""
    for line in text.splitlines():
        if match := re.match(r"\s*(\w+): [^{]*?\s# (.*)", line):
            key = match[1]
            found[key] = match[2]
        elif key and (more := re.match(r"\s{20,}# (.*)", line)):
            found[key] += f" {more[1]}"
        else:
            key = ""
    return found


def test_keys_are_commented_as_in_the_shipped_file() -> None:
    shipped = comments((SHIPPED / "machines" / "workshop-220.yaml").read_text())
    made = comments(machine_text({**all_answered({}), "found.reading_z_mm": 4.9}, ON))
    own = {"machine", "baud", "offset_x_mm", "offset_y_mm", "travel_mm", "mains_bed", "dialect"}
    assert len(made.keys() - own) >= 14
    assert {key: made[key] for key in made.keys() - own} == {
        key: shipped[key] for key in made.keys() - own
    }
