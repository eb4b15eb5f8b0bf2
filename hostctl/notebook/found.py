"""The answer to a question, which shows itself."""

from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from hostctl.report.document.question import Question

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Found(Generic[Result]):
    """The answer to a question. result: everything that was found, typed."""

    question: Question[Result]
    result: Result

    def to_dict(self) -> dict[str, Any]:
        """As plain data that fit the question's JSON Schema: what `--json` prints."""
        return self.question.data(self.result)

    def to_text(self, *, explained: bool = False) -> str:
        """As the command prints it. explained: with the formulas, and these numbers in them."""
        return self.question.text(self.result, explained=explained)

    def to_markdown(self, *, explained: bool = False) -> str:
        """As Markdown."""
        from hostctl.report.document.as_markdown import as_markdown

        return as_markdown(self.question.document(self.result, explained))

    def __str__(self) -> str:
        return self.to_text()

    def _repr_html_(self) -> str:
        """How a notebook shows it."""
        from hostctl.report.document.as_html import as_html

        return as_html(self.question.document(self.result, False))
