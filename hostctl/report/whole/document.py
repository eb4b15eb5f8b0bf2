"""The report as a document: the question, the answer, a figure; then what it rests on."""

from collections.abc import Iterator

from hostctl.report.analysis.result.analysis import loaded_late
from hostctl.report.analysis.short import before_believing
from hostctl.report.analysis.told.explained import with_these_numbers
from hostctl.report.analysis.told.how import worked_out
from hostctl.report.document.blocks import Block, Document, Fold
from hostctl.report.document.question import Question
from hostctl.report.whole.ahead import more_trials, rig_over_time
from hostctl.report.whole.between import one_against_another
from hostctl.report.whole.done import how_done
from hostctl.report.whole.enough import good_enough
from hostctl.report.whole.first import first_screen, is_simulated
from hostctl.report.whole.how_far import how_far
from hostctl.report.whole.in_time import every_reading, in_time
from hostctl.report.whole.result import Report
from hostctl.report.whole.rings import between_workshops
from hostctl.report.whole.scatter import how_widely, what_rounding_hides
from hostctl.report.whole.shares import whose_share


def document(report: Report, _explained: bool) -> Document:
    """All of it; the formulas are there in any case, behind a fold."""
    name, title = report.analysis.source.name, report.analysis.source.title
    title = title if title.endswith(name) else f"{name}: {title}"  # a file: its title
    if is_simulated(report):
        title = f"Simulated · {title}"  # on slides and on paper too
    return Document(title=title, blocks=tuple(_blocks(report)))


REPORT = Question(
    name="report",
    version=1,
    result=Report,
    document=document,
    late=loaded_late,
    may_have_own=True,
)


def _blocks(report: Report) -> Iterator[Block]:
    analysis = report.analysis
    yield from first_screen(report)
    yield from how_far(report)
    yield from before_believing(analysis)
    yield from how_widely(analysis)
    yield from what_rounding_hides(analysis)
    yield from good_enough(analysis)
    yield from one_against_another(analysis)
    yield from whose_share(analysis)
    yield from in_time(report)
    yield from every_reading(report)
    yield from between_workshops(analysis)
    yield from rig_over_time(report.history)
    yield from more_trials(analysis, report.foresight)
    yield from how_done(report)
    yield Fold(
        title="Formulas, with these numbers",
        blocks=(*with_these_numbers(analysis), *worked_out(analysis)),
    )
