"""A question that readings can be asked: its result, and how that is told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from hostctl.report.document.blocks import Document, Role

Result = TypeVar("Result")

OWN = {
    "description": "What the own question of the run's kind found; its own schema says the rest.",
    "type": "object",
    "properties": {"question": {"type": "string"}, "version": {"type": "integer"}},
    "required": ["question", "version", "answer", "cautions"],
}
"""The schema of the key `own`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Generic[Result]):
    """One question: the type of its result, and the document that tells it.

    name, version: of its JSON; the version goes up when a key goes or changes its meaning.
    document: of a result; `explained`: with the formulas, and these numbers in them.
    late: types of the result's fields that its module loads only where they are needed, by name.
    may_have_own: whether its JSON may have a key `own`, with the data of the question of a run's
    kind, as `report/kinds/own.py` says.
    """

    name: str
    version: int
    result: type[Result]
    document: Callable[[Result, bool], Document]
    late: Callable[[], Mapping[str, type]] = dict
    may_have_own: bool = False

    def text(self, result: Result, *, explained: bool = False) -> str:
        """The result for a terminal."""
        from hostctl.report.document.as_text import as_text

        return as_text(self.document(result, explained))

    def data(self, result: Result) -> dict[str, Any]:
        """The result for other programs: what was found, with the answer and the cautions."""
        from hostctl.report.document.data import plain

        document = self.document(result, False)
        return {
            "question": self.name,
            "version": self.version,
            **plain(result),
            "answer": " ".join(document.said(Role.ANSWER)),
            "cautions": document.said(Role.CAUTION),
        }

    def schema(self) -> dict[str, Any]:
        """The JSON Schema of `data`."""
        from hostctl.report.document.schema import schema_of

        schema = schema_of(
            self.result,
            {
                "question": {"const": self.name},
                "version": {"const": self.version},
                "answer": {"type": "string"},
                "cautions": {"type": "array", "items": {"type": "string"}},
            },
            self.late(),
        )
        if self.may_have_own:
            schema["properties"]["own"] = OWN
        return schema
