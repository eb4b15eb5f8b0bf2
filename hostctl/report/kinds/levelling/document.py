"""A levelling as a document."""

from collections.abc import Iterator

from hostctl.report.document.blocks import Block, Document, Fold
from hostctl.report.document.question import Question
from hostctl.report.kinds.levelling.explained import with_these_numbers
from hostctl.report.kinds.levelling.first import first_screen
from hostctl.report.kinds.levelling.left_over import what_is_left
from hostctl.report.kinds.levelling.result import LevelResult
from hostctl.report.kinds.levelling.sure import before_believing, how_sure
from hostctl.report.kinds.levelling.turned import round_by_round, travel_left


def document(result: LevelResult, explained: bool) -> Document:
    """The answer and a map, what was turned, what is left, how sure, cautions.

    explained: formulas with these numbers in them too.
    """
    return Document(title=result.title, blocks=tuple(_blocks(result, explained=explained)))


LEVELLING = Question(name="levelling", version=1, result=LevelResult, document=document)


def _blocks(result: LevelResult, *, explained: bool) -> Iterator[Block]:
    yield from first_screen(result)
    yield from round_by_round(result)
    yield from travel_left(result)
    yield from what_is_left(result)
    yield from how_sure(result)
    yield from before_believing(result)
    if explained:
        formulas = tuple(with_these_numbers(result))
        yield Fold(title="Formulas, with these numbers", blocks=formulas)
