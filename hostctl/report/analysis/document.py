"""An analysis as a document, and the short one that says the same in fewer words."""

from collections.abc import Iterator

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.analysis.told.answer import answer
from hostctl.report.analysis.told.cautions import cautions
from hostctl.report.analysis.told.tables import settings_themselves, what_was_read
from hostctl.report.document.blocks import (
    Block,
    Document,
    Fold,
    Heading,
    Items,
    Paragraph,
    Role,
    Table,
)
from hostctl.report.document.question import Question


def document(analysis: Analysis, explained: bool) -> Document:
    """The answer, the tables, what is odd, cautions, and how it was worked out.

    explained: formulas with these numbers in them, too.
    """
    return Document(
        title=analysis.source.title, blocks=tuple(_blocks(analysis, explained=explained))
    )


def short_document(judgement: Judgement, readings: Table | None = None) -> Document:
    """The answer, the first table and the cautions, word for word those of the whole document.

    readings: every reading, to be listed below.
    """
    return Document(
        title=judgement.source.title,
        blocks=(
            *_answered(judgement),
            *what_was_read(judgement),
            *_before_believing(judgement),
            *([readings] if readings else []),
        ),
    )


def document_of_nothing(name: str, title: str, readings: Table | None = None) -> Document:
    """What there is to say of a run of which no reading counts."""
    says = "No reading of it counts yet, so there is nothing to judge."
    return Document(
        title=title,
        blocks=(
            Paragraph(text=says, role=Role.ANSWER),
            Paragraph(text=f"{name}: {title}"),
            *([readings] if readings else []),
        ),
    )


ANALYSIS = Question(name="analysis", version=1, result=Analysis, document=document)


def _blocks(analysis: Analysis, *, explained: bool) -> Iterator[Block]:
    from hostctl.report.analysis.told.compared import spreads_compared
    from hostctl.report.analysis.told.crossed import points_and_operators
    from hostctl.report.analysis.told.how import how
    from hostctl.report.analysis.told.means import means_compared
    from hostctl.report.analysis.told.odd import out_of_the_ordinary

    yield from _answered(analysis)
    yield from what_was_read(analysis)
    yield from settings_themselves(analysis)
    yield from spreads_compared(analysis.compared)
    yield from means_compared(analysis)
    yield from out_of_the_ordinary(analysis)
    yield from points_and_operators(analysis)
    yield from _before_believing(analysis)
    if explained:
        from hostctl.report.analysis.told.explained import with_these_numbers

        yield Fold(title="With these numbers", blocks=tuple(with_these_numbers(analysis)))
    yield Heading(text="How it was worked out")
    yield Items(items=tuple(how(analysis)))


def _answered(judgement: Judgement) -> Iterator[Block]:
    """The answer, and of what readings."""
    yield from (Paragraph(text=sentence, role=Role.ANSWER) for sentence in answer(judgement))
    name, title = judgement.source.name, judgement.source.title
    yield Paragraph(text=title if title.endswith(name) else f"{name}: {title}")  # a file: its title


def _before_believing(judgement: Judgement) -> Iterator[Block]:
    yield Heading(text="Before believing it")
    yield Items(items=tuple(cautions(judgement)), role=Role.CAUTION)
