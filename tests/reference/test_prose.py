"""What the reference says in prose keeps up with the program too."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from enum import Enum
from pathlib import Path
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from in_documents import ROOT

from hostctl import errors
from hostctl.channels.json_lines.json_words import object_for
from hostctl.channels.messages.payloads import BY_TOPIC
from hostctl.channels.messages.topics import Topics
from hostctl.cli import main
from hostctl.config.find import REFERENCE
from hostctl.news import News, Word
from hostctl.records import Place
from hostctl.run.record.standing import Standing

CODES = {
    kind.exit_code
    for kind in vars(errors).values()
    if isinstance(kind, type) and issubclass(kind, errors.HostctlError)
} | {0, main.OUR_FAULT, main.INTERRUPTED, main.NOBODY_READS}
PLACE = {field.name for field in fields(Place)}


def part(name: str) -> str:
    return (REFERENCE / f"{name}.md").read_text()


def entry(text: str, word: str) -> str:
    """What is said of a word in a list."""
    return text.split(f"\n- `{word}`")[1].split("\n- `")[0]


def sample(kind: Any) -> Any:
    """Something of that type; of a dataclass, with something in every field."""
    if get_origin(kind) is UnionType:
        return sample(next(part for part in get_args(kind) if part is not type(None)))
    if get_origin(kind) is Mapping:
        return {}
    if get_origin(kind) is tuple:
        return ()
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        given = [field.name for field in fields(kind) if field.init]
        return kind(**{name: sample(hints[name]) for name in given})  # type: ignore[operator]
    if issubclass(kind, Enum):
        return next(iter(kind))
    return datetime(2026, 11, 25, tzinfo=UTC) if kind is datetime else kind(1)


SAID = [object_for(sample(kind)) for kind in get_args(News)]
EVENTS = {str(said.pop("event")): set(said) for said in SAID}


@pytest.mark.parametrize("code", sorted(CODES))
def test_each_exit_code_is_told(code: int):
    assert f"\n- `{code}`: " in part("exit-codes")


def test_no_other_exit_code_is_told():
    assert {int(code) for code in re.findall(r"\n- `(\d+)`:", part("exit-codes"))} == CODES


def test_the_fault_tree_in_the_code_and_its_codes_agree():
    listed = re.findall(r"(\w+(?:Error|Stopped|Fault))\s+(\d+)\s{2}", errors.__doc__ or "")
    assert {name: int(code) for name, code in listed} == {
        name: kind.exit_code
        for name, kind in vars(errors).items()
        if isinstance(kind, type) and issubclass(kind, errors.HostctlError)
    }


@pytest.mark.parametrize("event", sorted(EVENTS))
def test_each_event_of_the_json_lines_is_told_with_every_key(event: str):
    told = entry(part("json-lines"), event)
    keys = EVENTS[event]
    if keys >= PLACE:
        assert "the place" in " ".join(told.split())
        keys = keys - PLACE
    assert {key for key in keys if f"`{key}`" not in told} == set()


def test_no_other_event_of_the_json_lines_is_told():
    listed = part("json-lines").split("## What is told")[1]
    assert set(re.findall(r"\n- `([a-z-]+)`", listed)) == set(EVENTS)


def test_the_place_is_told_key_by_key():
    assert {key for key in PLACE if f"`{key}`" not in part("json-lines")} == set()


@pytest.mark.parametrize("word", sorted(set(Word) - {Word.READING, Word.CHOSEN}))
def test_each_word_of_the_json_lines_is_told(word: Word):
    taken = part("json-lines").split("## What is told")[0]
    assert f"`{word}`" in "".join(re.findall(r"- `answer` \(.*?\)", taken, re.DOTALL))


@pytest.mark.parametrize(
    "topic", sorted({"online", "hold", "stop", *BY_TOPIC}), ids=lambda topic: topic
)
def test_each_topic_is_told(topic: str):
    assert getattr(Topics("m"), topic) == f"hostctl/m/{topic}"
    assert re.search(rf"^## Topics?\b.* {topic}\b.*: (told|taken)", part("messages"), re.MULTILINE)


@pytest.mark.parametrize("standing", Standing)
def test_each_standing_of_the_state_is_told(standing: Standing):
    assert f"`{standing}`" in part("messages")


def variables() -> Iterator[str]:
    """Each that is asked for in the sources, or listed there to be asked for."""
    for path in (ROOT / "hostctl").rglob("*.py"):
        text = path.read_text()
        if "environ" in text:
            yield from re.findall(r'"([A-Z][A-Z_]*[A-Z8])"', text)


def test_each_environment_variable_is_told():
    asked = {name for name in variables() if "_" in name or name in ("LANG", "TERM", "PYTHONUTF8")}
    assert {"HOSTCTL_CONFIG", "HOSTCTL_DATABASE", "HOSTCTL_SOCKET", "NO_COLOR"} <= asked
    assert {name for name in asked if f"`{name}`" not in part("environment")} == set()


def test_what_a_file_of_gaps_is_shown_to_come_to_is_what_comes(tmp_path: Path):
    """`hostctl analyse` of the file listed there, as typed there; the answer goes on after it."""
    listed = part("analysis").split("    $ cat gaps.csv\n")[1].split("\n\n")[0]
    file, typed = listed.split("    $ hostctl ")
    words, answer = typed.split("\n", 1)
    (tmp_path / "gaps.csv").write_text("\n".join(file.split()) + "\n")
    said = subprocess.run(
        [sys.executable, "-m", "hostctl", *words.split()],
        cwd=tmp_path,
        env=os.environ | {"HOSTCTL_DATABASE": str(tmp_path / "none.sqlite")},
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    shown = " ".join(answer.split())
    assert "off target" in shown
    assert " ".join(said.split()).startswith(shown)
