"""`hostctl reference`: the parts, one of them, and what is said where there is none."""

import json
import subprocess
from collections.abc import Callable
from typing import Any

import pytest

from hostctl.cli.reference import QUESTIONS as WITH_A_SCHEMA
from hostctl.config.find import REFERENCE
from hostctl.report.document.plain_ascii import in_ascii
from hostctl.report.document.question import Question
from hostctl.report.schemas import QUESTIONS

Hostctl = Callable[..., "subprocess.CompletedProcess[str]"]
PARTS = sorted(path.stem for path in REFERENCE.glob("*.md"))


def test_without_a_part_all_are_listed_with_their_titles(hostctl_here: Hostctl):
    said = hostctl_here("reference").stdout.splitlines()
    assert [line.split()[0] for line in said[: said.index("")]] == PARTS
    assert "exit-codes   Exit codes" in said


@pytest.mark.parametrize("part", PARTS)
def test_a_part_is_printed_for_eighty_columns(part: str, hostctl_here: Hostctl):
    lines = hostctl_here("reference", part).stdout.splitlines()
    assert (REFERENCE / f"{part}.md").read_text().startswith(f"# {lines[0]}\n")
    assert lines[1] == "━" * len(lines[0])
    assert max(map(len, lines)) <= 80
    assert not [line for line in lines if line.startswith(("<!--", "#"))]


@pytest.mark.parametrize("part", PARTS)
def test_a_terminal_that_knows_ascii_alone_shows_it(part: str, hostctl_here: Hostctl):
    text = hostctl_here("reference", part).stdout
    assert in_ascii(text).count("?") == text.count("?")


@pytest.mark.parametrize(
    ("asked", "complaint"),
    [
        ("mashine", "no part is called 'mashine'. Did you mean 'machine'?"),
        ("Messages", "no part is called 'Messages'. Did you mean 'messages'?"),
        ("zzz", f"no part is called 'zzz'. Known: {', '.join(PARTS)}."),
    ],
)
def test_an_unknown_part_is_told_in_one_line(asked: str, complaint: str, hostctl_here: Hostctl):
    done = hostctl_here("reference", asked)
    assert (done.returncode, done.stderr) == (2, f"hostctl reference: {complaint}\n")


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_the_schema_of_each_question_is_printed(question: Question[Any], hostctl_here: Hostctl):
    printed = json.loads(hostctl_here("reference", "--schema", question.name).stdout)
    assert printed == question.schema()


def test_no_other_schema_is_offered():
    assert set(WITH_A_SCHEMA) == {question.name for question in QUESTIONS}
