"""The README keeps up with the program, and short."""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from a_place import A_PLACE
from in_documents import ROOT, commands_in, paths_missing

import hostctl
from hostctl.channels.terminal.draw import Look, draw
from hostctl.channels.view.seen import view_of_run
from hostctl.cli import main
from hostctl.cli.parsing import understood
from hostctl.config.find import SHIPPED
from hostctl.config.load import load_machine
from hostctl.news import News, Prompt, PromptOpened, ReadingKept, RunStarted
from hostctl.records import Position, Reading, Temperatures
from hostctl.run.procedures.turning_away import turned_away
from hostctl.run.record.course import Course, course_after
from hostctl.run.wording import CLEAR_HANDS, turn_away

README = (ROOT / "README.md").read_text()
DOCUMENTS = [ROOT / "README.md", *sorted((SHIPPED / "reference").glob("*.md"))]
NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
CAUTIONS = [
    "The emergency stop is the mains switch",
    "burns",
    "Hands are in the machine only while",
    "its own battery",
    "thermal fault",
    "finger on the mains",
]


def test_it_has_at_most_two_hundred_lines():
    assert len(README.splitlines()) <= 200


def test_the_set_up_lines_need_only_python_and_venv():
    lines = re.findall(r"^python3 -m venv \.venv && .*$", README, re.MULTILINE)
    assert len(lines) == 2
    assert lines[0].endswith(".venv/bin/hostctl demo")
    assert ".venv/bin/python -m pytest" in lines[1]


def test_the_whole_check_finds_the_test_line():
    """As `.ci/run` looks for it."""
    script = (ROOT / ".ci" / "run").read_text()
    looking = re.search(r"test_line=\$\((sed .*) \| head -n 1\)", script)
    assert looking
    found = subprocess.run(
        ["sh", "-c", looking[1]], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert found.stdout.count("\n") == 1
    assert ".venv/bin/python -m pytest" in found.stdout


@pytest.mark.parametrize("command", sorted(main.COMMANDS))
def test_each_command_is_in_the_readme(command: str):
    assert f"`hostctl {command}" in README


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_command_line_is_one_that_the_program_understands(document: Path):
    for words in commands_in(document.read_text()):
        name, rest = (words[0], words[1:]) if words else ("--help", [])
        if rest and rest != ["--help"]:
            understood(name, rest, main.COMMANDS)  # raises where it is not
        else:
            assert name in {*main.COMMANDS, "COMMAND", "--help"}


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_every_path_named_is_there(document: Path):
    assert paths_missing(document.read_text()) == set()


@pytest.fixture(scope="module")
def after_the_demo(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., str]:
    """Runs a command where the demo was run; gives what it prints."""
    database = tmp_path_factory.mktemp("demo") / "demo.sqlite"

    def said(*words: str) -> str:
        return subprocess.run(
            [sys.executable, "-m", "hostctl", *words],
            env=os.environ | {"HOSTCTL_DATABASE": str(database)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout

    said("demo")
    return said


SAID = re.findall(r"^```\n\$ hostctl ([^\n]+)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def test_it_shows_what_commands_say():
    assert [command.split()[0] for command, _ in SAID] == ["analyse"]


@pytest.mark.slow
def test_the_number_of_trials_that_it_names_is_what_comes(after_the_demo: Callable[..., str]):
    [number] = re.findall(r"`hostctl plan --see-ratio 2` says .*: (\d+) of each", README)
    assert after_the_demo("plan", "--see-ratio", "2").startswith(f"{number} trials of each method")


@pytest.mark.slow
@pytest.mark.parametrize(("command", "answer"), SAID, ids=[command for command, _ in SAID])
def test_what_a_command_is_shown_to_say_is_what_it_says(
    command: str, answer: str, after_the_demo: Callable[..., str]
):
    assert after_the_demo(*command.split()).startswith(answer)


@pytest.mark.slow
def test_its_picture_is_what_the_command_beside_it_draws(
    after_the_demo: Callable[..., str], tmp_path: Path
):
    [(command, picture)] = re.findall(
        r"`hostctl (report 2 --svg \w+)`.*?\]\(([\w/.-]+)\)", README, re.DOTALL
    )
    after_the_demo(*command.split(), "-o", str(tmp_path / "drawn.svg"))
    drawn, kept = (tmp_path / "drawn.svg").read_text(), (ROOT / picture).read_text()
    assert dateless(drawn) == dateless(kept)


def dateless(svg: str) -> str:
    """Without the moment at which the run began."""
    return re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d", "then", svg)


def test_its_line_of_python_says_what_it_finds():
    [line] = re.findall(r"^`(hostctl\.\w+\(.*\))`$", README, re.MULTILINE)
    given = {
        "methods": ["paper-slip", "paper-slip", "contact-light"],
        "readings": [0.02, 0.0, 0.01],
    }
    found = eval(line, {"hostctl": hostctl, **given})
    assert [one.readings for one in found.result.results] == [1, 2]


@pytest.mark.parametrize("caution", CAUTIONS)
def test_the_cautions_are_kept(caution: str):
    assert caution in README.split("\n## Cautions\n")[1].split("\n## ")[0]


def test_the_picture_of_a_session_is_what_the_terminal_draws():
    picture = README.split("\n## A session\n")[1].split("```")[1].splitlines()
    drawn = {line.rstrip() for line in turn_at_the_screw()}
    assert len(picture) > 20
    assert {line for line in picture if line} <= drawn


def turn_at_the_screw() -> list[str]:
    """The screen after the first trial of three-methods: turn the screw away for the next."""
    place = replace(
        A_PLACE,
        method="feeler-gauge",
        operator="volunteer-b",
        point="front-left",
        trial=1,
        trials_done=1,
        trials_total=60,
    )
    reading = Reading(
        value_mm=0.01,
        resolution_mm=0.01,
        taken_at=NOW,
        source="typed",
        at=Position(x_mm=5, y_mm=30, z_mm=5),
        temperatures=Temperatures(),
    )
    machine = load_machine(SHIPPED / "machines/sim-220.yaml")
    asked = turn_away(turned_away(machine, place.point, 75), place, place)
    news: list[News] = [
        RunStarted(run=1, study="three-methods", machine="sim-220", trials_total=60, resumed=False),
        ReadingKept(
            reading_id=2,
            place=place,
            reading=reading,
            relative_mm=0.01,
            is_zero=False,
            channel="terminal",
        ),
        PromptOpened(
            prompt=Prompt(
                prompt_id="1-3",
                deed=asked.deed,
                text=asked.text,
                detail=f"{asked.once} {CLEAR_HANDS}",
                hands_out=CLEAR_HANDS,
                moves_next=asked.moves_next,
                place=replace(place, trial=2),
                opened_at=NOW,
                resolution_mm=None,
                redo_takes=place,
            )
        ),
    ]
    course = Course()
    for each in news:
        course = course_after(course, each, lambda: 0.0)
    colourless = Look(act="", clear="", held="", strong="", faint="", off="")
    return draw(view_of_run(course), note="", typed="", columns=80, rows=40, look=colourless)
