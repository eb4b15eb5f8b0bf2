"""A probe loop as a document."""

from collections.abc import Iterator

from hostctl.report.document.blocks import Block, Document, Fold
from hostctl.report.document.question import Question
from hostctl.report.kinds.looping.by_what import (
    by_homing,
    by_point,
    by_side,
    by_temperature,
    over_time,
)
from hostctl.report.kinds.looping.explained import with_these_numbers
from hostctl.report.kinds.looping.first import first_screen
from hostctl.report.kinds.looping.result import LoopResult
from hostctl.report.kinds.looping.stopping import when_to_stop
from hostctl.report.kinds.looping.sure import before_believing


def document(result: LoopResult, explained: bool) -> Document:
    """The answer and the course, what touches share, why it stopped, cautions.

    explained: formulas with these numbers in them too.
    """
    return Document(title=result.title, blocks=tuple(_blocks(result, explained=explained)))


LOOPING = Question(name="probe-loop", version=1, result=LoopResult, document=document)


def _blocks(result: LoopResult, *, explained: bool) -> Iterator[Block]:
    yield from first_screen(result)
    yield from by_point(result)
    yield from by_side(result)
    yield from over_time(result)
    yield from by_temperature(result)
    yield from by_homing(result)
    yield from when_to_stop(result)
    yield from before_believing(result)
    if explained:
        formulas = tuple(with_these_numbers(result))
        yield Fold(title="Formulas, with these numbers", blocks=formulas)
