"""An analysis as a document."""

from collections.abc import Iterator

from hostctl.report.analysis.result.analysis import Analysis, loaded_late
from hostctl.report.analysis.short import answered, before_believing, how_far_off
from hostctl.report.analysis.told.tables import settings_themselves, what_was_read
from hostctl.report.document.blocks import Block, Document, Fold
from hostctl.report.document.question import Question


def document(analysis: Analysis, explained: bool) -> Document:
    """The answer, the tables, what is odd, cautions.

    explained: formulas with these numbers in them too, and how it was worked out.
    """
    return Document(
        title=analysis.source.title, blocks=tuple(_blocks(analysis, explained=explained))
    )


ANALYSIS = Question(
    name="analysis",
    version=2,
    result=Analysis,
    document=document,
    late=loaded_late,
    may_have_own=True,
)


def _blocks(analysis: Analysis, *, explained: bool) -> Iterator[Block]:
    from hostctl.report.analysis.told.odd import out_of_the_ordinary

    yield from answered(analysis)
    yield from how_far_off(analysis)
    yield from what_was_read(analysis)
    yield from settings_themselves(analysis)
    if analysis.compared is not None or analysis.biases:
        yield from _compared(analysis)
    yield from out_of_the_ordinary(analysis)
    if analysis.crossed:
        from hostctl.report.analysis.told.crossed import points_and_operators

        yield from points_and_operators(analysis)
    if analysis.workshops:
        from hostctl.report.analysis.told.workshops import between_workshops

        yield from between_workshops(analysis)
    yield from before_believing(analysis)
    if explained:
        from hostctl.report.analysis.told.explained import with_these_numbers
        from hostctl.report.analysis.told.how import worked_out

        yield Fold(title="With these numbers", blocks=tuple(with_these_numbers(analysis)))
        yield from worked_out(analysis)


def _compared(analysis: Analysis) -> Iterator[Block]:
    """Loaded only where there are several, as is what points and operators say together."""
    from hostctl.report.analysis.told.compared import spreads_compared
    from hostctl.report.analysis.told.means import means_compared

    yield from spreads_compared(analysis.compared)
    yield from means_compared(analysis)
