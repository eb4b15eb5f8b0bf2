"""The README keeps up with the program: exit codes, configuration keys, commands, set-up lines."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from hostctl import errors
from hostctl.channels.json_lines import json_words
from hostctl.cli import main
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.records import Standing

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
CODES = {
    kind.exit_code
    for kind in vars(errors).values()
    if isinstance(kind, type) and issubclass(kind, errors.HostctlError)
} | {0, main.OUR_FAULT, main.INTERRUPTED, main.NOBODY_READS}


def sections_in(annotation: object) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from sections_in(part)


def keys_of(model: type[BaseModel]) -> set[str]:
    keys = set(model.model_fields)
    for field in model.model_fields.values():
        for section in sections_in(field.annotation):
            keys |= keys_of(section)
    return keys


def section(title: str) -> str:
    return README.split(f"\n## {title}\n")[1].split("\n## ")[0]


@pytest.mark.parametrize("code", sorted(CODES))
def test_each_exit_code_is_in_the_readme(code: int):
    assert f"\n| {code} | " in section("Exit codes")


def test_the_readme_knows_no_other_exit_code():
    assert {int(code) for code in re.findall(r"\n\| (\d+) \|", section("Exit codes"))} == CODES


@pytest.mark.parametrize("key", sorted(keys_of(Machine) | keys_of(Study)))
def test_each_configuration_key_is_in_the_readme(key: str):
    assert f"`{key}`" in section("Configuration")


@pytest.mark.parametrize(
    ("path", "model"),
    [
        ("configs/machines/workshop-220.yaml", Machine),
        ("configs/studies/three-methods.yaml", Study),
    ],
)
def test_the_shipped_examples_show_every_key(path: str, model: type[BaseModel]):
    text = (ROOT / path).read_text()
    assert not {key for key in keys_of(model) if not re.search(rf"\b{key}:", text)}


@pytest.mark.parametrize("command", sorted(main.COMMANDS))
def test_each_command_is_in_the_readme(command: str):
    assert f"`hostctl {command}" in section("Commands")


@pytest.mark.parametrize("standing", Standing)
def test_each_standing_of_the_state_is_in_the_readme(standing: Standing):
    assert f"`{standing}`" in section("Messages")


def test_each_event_of_the_json_lines_is_in_the_readme():
    source = Path(json_words.__file__).read_text()
    events = set(re.findall(r'"event": "([a-z-]+)"', source))
    assert not {event for event in events if f"`{event}`" not in section("Commands")}


@pytest.mark.parametrize("variable", ["HOSTCTL_CONFIG", "HOSTCTL_DATABASE", "NO_COLOR"])
def test_each_environment_variable_is_in_the_readme(variable: str):
    assert variable in README


def test_the_set_up_lines_need_only_python_and_venv():
    lines = re.findall(r"^python3 -m venv \.venv && .*$", README, re.MULTILINE)
    assert len(lines) == 2
    assert lines[0].endswith(".venv/bin/hostctl demo")
    assert ".venv/bin/python -m pytest" in lines[1]


def test_the_fault_tree_in_the_code_and_its_codes_agree():
    listed = re.findall(r"(\w+(?:Error|Stopped|Fault))\s+(\d+)\s{2}", errors.__doc__ or "")
    assert {name: int(code) for name, code in listed} == {
        name: kind.exit_code
        for name, kind in vars(errors).items()
        if isinstance(kind, type) and issubclass(kind, errors.HostctlError)
    }
