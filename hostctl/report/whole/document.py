"""The report as a document."""

from collections.abc import Iterator

from hostctl.report.analysis.short import answered
from hostctl.report.document.blocks import Block, Document
from hostctl.report.document.question import Question
from hostctl.report.whole.result import Report


def document(report: Report, _explained: bool) -> Document:
    """The question, the answer, a figure; then question by question what it rests on."""
    return Document(title=report.analysis.source.title, blocks=tuple(_blocks(report)))


REPORT = Question(name="report", version=1, result=Report, document=document)


def _blocks(report: Report) -> Iterator[Block]:
    yield from answered(report.analysis)
