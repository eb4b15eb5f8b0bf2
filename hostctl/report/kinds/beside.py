"""An analysis of readings, and what the kind's own question found, as one document."""

from collections.abc import Iterator
from dataclasses import replace

from hostctl.report.document.blocks import Block, Document, Heading, Paragraph, Role
from hostctl.report.whole.done import HEADING


def told_below(analysis: Document, told: Document) -> Document:
    """An analysis, and below it, but before how it was done, what the kind's own question found."""
    blocks, done = analysis.blocks, Heading(text=HEADING)
    at = blocks.index(done) if done in blocks else len(blocks)
    return replace(analysis, blocks=(*blocks[:at], *_below(told), *blocks[at:]))


def _below(told: Document) -> Iterator[Block]:
    """The question heads it; its answer is no answer to the question of the whole page."""
    for block in told.blocks:
        match block:
            case Paragraph(role=Role.QUESTION, text=text):
                yield Heading(text=text)
            case Paragraph(role=Role.ANSWER):
                yield replace(block, role=Role.REST)
            case _:
                yield block
