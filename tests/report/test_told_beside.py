"""A kind whose own result is told beside the analysis of its readings: text, JSON and report."""

import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import jsonschema
import pytest
from kept_runs import keep, run_like

from hostctl.cli.main import main
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.document.blocks import Document, Items, Paragraph, Role
from hostctl.report.document.question import Question
from hostctl.report.enclosed.sourced import Sourced
from hostctl.report.kinds import own
from hostctl.report.sources.material import Block, Material
from hostctl.report.whole.document import REPORT


@dataclass(frozen=True, slots=True, kw_only=True)
class Touches:
    """How many touches a run made."""

    touches: int


def _document(found: Touches, _explained: bool) -> Document:
    return Document(
        title="Touches",
        blocks=(
            Paragraph(text="How often did it touch?", role=Role.QUESTION),
            Paragraph(text=f"It touched {found.touches} times.", role=Role.ANSWER),
            Items(items=("None was felt.",), role=Role.CAUTION),
        ),
    )


TOUCHES = Question(name="touches", version=1, result=Touches, document=_document)


def found(source: Sourced) -> Touches:
    return Touches(touches=len(source.rows))


@pytest.fixture
def said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., str]:
    beside = own.OwnResult(question=TOUCHES, found=found, beside_analysis=True)
    monkeypatch.setattr(own, "_OWN", {"probe-loop": lambda: beside})
    database = tmp_path / "runs.sqlite"
    values = (0.01, 0.0, 0.02, 0.01, 0.0, 0.01)
    block = Block(method="probe-loop", operator="", point="p", values_mm=values)
    touched = Material(
        name="run 1",
        title="",
        kind="probe-loop",
        machine="bench",
        reference="datum",
        zero_known=True,
        own_zeros=True,
        resolution_mm=0.01,
        resolution_from="",
        blocks=(block,),
        goal=None,
        notes=(),
    )
    keep(database, run_like(touched))

    def of(*words: str) -> str:
        with suppress(SystemExit):
            main([*words, "--database", str(database)])
        return capsys.readouterr().out

    return of


@pytest.mark.parametrize("command", ["show", "analyse"])
def test_it_stands_below_the_analysis_and_its_question_heads_it(said, command: str):
    text = said(command, "1")
    assert text.index("Before believing it") < text.index("How often did it touch?")
    assert text.index("How often did it touch?") < text.index("It touched 6 times.")


def test_its_data_stand_under_a_key_of_their_own(said):
    data = json.loads(said("analyse", "1", "--json"))
    jsonschema.Draft202012Validator(ANALYSIS.schema()).validate(data)
    assert (data["question"], data["own"]["touches"]) == ("analysis", 6)
    assert "It touched" not in data["answer"]


def test_a_report_has_it_before_how_it_was_done_and_gives_it_again(said, tmp_path: Path):
    said("report", "1", "-o", str(tmp_path / "loop.html"))
    page = (tmp_path / "loop.html").read_text()
    assert page.index("It touched 6 times.") < page.index(">How was it done?</h2>")
    again = json.loads(said("analyse", str(tmp_path / "loop.html"), "--json"))
    assert again["own"]["touches"] == 6
    said("report", "1", "--json", "-o", str(tmp_path / "loop.json"))
    data = json.loads((tmp_path / "loop.json").read_text())
    jsonschema.Draft202012Validator(REPORT.schema()).validate(data)
    assert data["own"]["answer"] == "It touched 6 times."
