"""Every key of files and messages is in the reference, with all that has to be said of it."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from hostctl.config.budgets.budget import BudgetFile
from hostctl.config.find import REFERENCE, SHIPPED
from hostctl.config.host import Host
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.reference.keys import Key, Section, sections_of
from hostctl.reference.parts import DESCRIBED, made_anew
from hostctl.reference.results import OF_ALL, RESULTS, keys_of_result
from hostctl.reference.units import unit_of

FILES = ["machine", "study", "host", "budget"]
MADE = sorted(REFERENCE.glob("*.md"))
STUDIES = sorted(path.stem for path in (SHIPPED / "studies").glob("*.yaml"))


def every_key(sections: tuple[Section, ...], way: str = "") -> Iterator[tuple[str, Key]]:
    for section in sections:
        for key in section.keys:
            yield f"{way}{key.name}", key
            yield from every_key(key.sections, f"{way}{key.name}.")


KEYS = {part: dict(every_key(sections_of(*described))) for part, described in DESCRIBED.items()}
of_each_part = pytest.mark.parametrize("part", sorted(KEYS))
NO_UNIT = re.compile(r"(any|whole) number|above|below|at (least|most)|[-0-9.]+( to |,|;|$)")
NUMBER = re.compile(r"\b(number|above|below|at least [0-9]|[0-9.]+ to [0-9])")


@pytest.mark.parametrize("path", MADE, ids=lambda path: path.name)
def test_the_lists_in_the_files_are_those_that_the_models_give(path: Path):
    """Else: python -m hostctl.reference"""
    assert path.read_text() == made_anew(path.read_text())


@pytest.mark.parametrize("part", sorted({**DESCRIBED, **RESULTS}))
def test_each_list_is_in_one_of_the_files(part: str):
    assert [path for path in MADE if f"<!-- made: {part} -->" in path.read_text()]


@of_each_part
def test_each_key_is_described(part: str):
    said = {way: key.says for way, key in KEYS[part].items()}
    assert not [way for way, says in said.items() if not re.fullmatch(r"[A-Z0-9`].*[.]", says)]


@pytest.mark.parametrize("part", sorted(RESULTS))
def test_each_key_of_a_result_is_described(part: str):
    told = {name: (facts, says) for name, facts, says in keys_of_result(RESULTS[part])}
    assert {*told, *OF_ALL} == set(RESULTS[part].schema()["properties"])
    assert not [name for name, (facts, _) in told.items() if not facts]
    assert not [name for name, (_, says) in told.items() if not re.fullmatch(r"[A-Z].*[.]", says)]


@pytest.mark.parametrize("key", OF_ALL)
def test_what_each_result_has_is_told(key: str):
    assert f"\n- `{key}`: " in (REFERENCE / "results.md").read_text()


@of_each_part
def test_of_each_key_is_said_what_it_may_hold(part: str):
    assert not [way for way, key in KEYS[part].items() if not key.facts.partition(";")[0]]


@pytest.mark.parametrize("part", FILES)
def test_of_each_key_of_a_file_is_said_what_is_taken_when_it_is_left_out(part: str):
    said = re.compile(r".+; (required|may be left out|left out: .+)")
    assert not [way for way, key in KEYS[part].items() if not said.fullmatch(key.facts)]


@of_each_part
def test_each_number_has_a_unit(part: str):
    """But for a count in a message: there its name says what is counted."""
    numbers = {
        way: key.facts
        for way, key in KEYS[part].items()
        if NUMBER.search(key.facts.partition(";")[0]) and not re.match("list|text", key.facts)
    }
    assert numbers
    counts = set() if part in FILES else {"whole number"}
    without = {way: facts for way, facts in numbers.items() if NO_UNIT.match(facts)}
    assert not {way for way, facts in without.items() if facts[:12] not in counts}


@of_each_part
def test_a_unit_in_a_keys_name_is_the_one_told(part: str):
    named = {way: (unit_of(key.name), key.facts) for way, key in KEYS[part].items()}
    numbers = {way: told for way, told in named.items() if told[0] and NUMBER.search(told[1])}
    told = {way: (unit, facts.removeprefix("list of ")) for way, (unit, facts) in numbers.items()}
    assert not [way for way, (unit, facts) in told.items() if not facts.startswith(f"{unit}, ")]


@pytest.mark.parametrize(
    ("way", "facts"),
    [
        ("machine: baud", "bits/s, whole number, 1200 to 4000000; left out: 115200"),
        ("machine: port", "a device or a URL; required"),
        ("machine: position_tolerance_mm", "mm, above 0, at most 0.5; left out: 0.02"),
        ("machine: points", "list, at least one; required"),
        ("machine: screws.raises_bed", "`clockwise` or `anticlockwise`; left out: `clockwise`"),
        (
            "study: seed",
            "plain number, whole number, at least 0; left out: drawn at the start and recorded",
        ),
        ("study: cycle.turn_away.most_deg", "degrees, whole number, 10 to 360; left out: 180"),
        ("study: tolerance.proportion", "share, above 0.5, below 1; left out: 0.95"),
        ("budget: correlations.between", "list of 2, each of text, 1 to 40 characters; required"),
        ("host: messages.tls", "section; may be left out"),
        ("state: seconds_left", "s, whole number, or null"),
        ("answer: reading_mm", "mm, -1000000 to 1000000; required"),
    ],
)
def test_what_is_said_of_some_keys(way: str, facts: str):
    part, _, key = way.partition(": ")
    assert KEYS[part][key].facts == facts


@pytest.mark.parametrize(
    ("path", "model"),
    [
        ("machines/workshop-220.yaml", Machine),
        (" ".join(f"studies/{name}.yaml" for name in STUDIES), Study),
        ("budgets/indicator-on-head.yaml", BudgetFile),
        ("host.yaml", Host),
    ],
)
def test_the_shipped_examples_show_every_key(path: str, model: type):
    text = "".join((SHIPPED / one).read_text() for one in path.split())
    keys = {key.name for _, key in every_key(sections_of(model, "taken"))}
    assert len(keys) > 20
    assert not {key for key in keys if not re.search(rf"\b{key}\b:|`{key}", text)}
