"""The JSON Schema of each question's data (draft 2020-12), made from the results' types.

Write them anew after a change of a result: python -m hostctl.report.schemas
"""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.budget.document import BUDGET
from hostctl.report.document.question import Question
from hostctl.report.history.document import HISTORY
from hostctl.report.kinds.axis.document import AXIS
from hostctl.report.kinds.gauges.document import GAUGES
from hostctl.report.kinds.levelling.document import LEVELLING
from hostctl.report.kinds.looping.document import LOOPING
from hostctl.report.planning.document import PLAN
from hostctl.report.whole.document import REPORT

FOLDER = Path(str(files("hostctl.report") / "schemas"))
QUESTIONS: tuple[Question[Any], ...] = (
    ANALYSIS,
    AXIS,
    BUDGET,
    GAUGES,
    HISTORY,
    LEVELLING,
    LOOPING,
    PLAN,
    REPORT,
)


def schema_text(question: Question[Any]) -> str:
    """The schema of its data, as kept in its file."""
    return json.dumps(question.schema(), indent=2, ensure_ascii=False) + "\n"


def write_all() -> None:
    """Write every schema to its file."""
    FOLDER.mkdir(exist_ok=True)
    for question in QUESTIONS:
        (FOLDER / f"{question.name}.json").write_text(schema_text(question))


if __name__ == "__main__":
    write_all()
