"""To add a question takes one result, one document and one command: all of it stands here."""

import json
import sys
from argparse import ArgumentParser, Namespace
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pytest

from hostctl.cli.parsing import carry_out
from hostctl.cli.telling import add_json, tell
from hostctl.errors import UsageError
from hostctl.report.document.blocks import Column, Document, Items, Paragraph, Role, Table
from hostctl.report.document.question import Question
from hostctl.report.sources.tables.table_file import Asked, table_material

# the result


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many readings a method has."""

    method: str
    readings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """How many readings there are of each method; few: those with fewer than ten."""

    counts: tuple[Count, ...]
    few: tuple[str, ...]


def counted(methods: list[str]) -> Counts:
    found = Counter(methods)
    return Counts(
        counts=tuple(Count(method=name, readings=found[name]) for name in sorted(found)),
        few=tuple(name for name in sorted(found) if found[name] < 10),
    )


# the document


def counts_document(counts: Counts, _explained: bool) -> Document:
    total = sum(count.readings for count in counts.counts)
    answer = f"{total} readings of {len(counts.counts)} methods."
    return Document(
        title="How many readings of each method",
        blocks=(
            Paragraph(text=answer, role=Role.ANSWER),
            Table(
                columns=(Column(head="method"), Column(head="readings", is_number=True)),
                rows=tuple((count.method, str(count.readings)) for count in counts.counts),
            ),
            Items(items=tuple(f"{name} has few." for name in counts.few), role=Role.CAUTION),
        ),
    )


COUNTS = Question(name="counts", version=1, result=Counts, document=counts_document)

# the command: a module hostctl/cli/counts.py would hold this much


class CountsCommand(ModuleType):
    EXAMPLE = "hostctl counts readings.csv"

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE.csv", help="a table of readings")
        add_json(parser)

    @staticmethod
    def act(args: Namespace) -> int:
        blocks = table_material(Path(args.file), Asked()).blocks
        methods = [block.method for block in blocks for _ in block.values_mm]
        tell(COUNTS, counted(methods), as_json=args.json)
        return 0


@pytest.fixture(autouse=True)
def command(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "hostctl.cli.counts", CountsCommand("hostctl.cli.counts"))


@pytest.fixture
def readings(tmp_path: Path) -> str:
    rows = ["paper-slip;0.01"] * 12 + ["contact-light;0.02"] * 3
    (tmp_path / "readings.csv").write_text("method;reading_mm\n" + "\n".join(rows) + "\n")
    return str(tmp_path / "readings.csv")


def hostctl(*words: str) -> int:
    return carry_out("counts", list(words), {"counts": "How many readings of each method?"})


def test_it_is_told_as_text(readings: str, capsys: pytest.CaptureFixture[str]):
    assert hostctl(readings) == 0
    assert capsys.readouterr().out == (
        "15 readings of 2 methods.\n\n"
        "method         readings\n─────────────  ────────\n"
        "contact-light         3\npaper-slip           12\n\n"
        "• contact-light has few.\n"
    )


def test_it_is_told_as_json_that_its_schema_describes(
    readings: str, capsys: pytest.CaptureFixture[str]
):
    assert hostctl(readings, "--json") == 0
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(COUNTS.schema())
    jsonschema.validate(data, COUNTS.schema())
    assert data == {
        "question": "counts",
        "version": 1,
        "counts": [
            {"method": "contact-light", "readings": 3},
            {"method": "paper-slip", "readings": 12},
        ],
        "few": ["contact-light"],
        "answer": "15 readings of 2 methods.",
        "cautions": ["contact-light has few."],
    }


def test_it_has_help_and_one_line_errors_like_any_other(capsys: pytest.CaptureFixture[str]):
    with pytest.raises(SystemExit):
        hostctl("--help")
    said = capsys.readouterr().out
    assert "How many readings of each method?" in said
    assert "Example: hostctl counts readings.csv" in said
    with pytest.raises(UsageError, match=r"FILE\.csv is missing"):
        hostctl()


def test_all_of_it_is_small():
    lines = Path(__file__).read_text().split("# the result")[1].split("@pytest.fixture")[0]
    assert len([line for line in lines.splitlines() if line.strip()]) < 70
