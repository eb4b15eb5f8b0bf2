"""A document as plain text, for a terminal 80 columns wide."""

from collections.abc import Mapping, Sequence
from itertools import count, zip_longest
from typing import assert_never

from hostctl.report.document.blocks import (
    Beside,
    Block,
    Document,
    Figure,
    Fold,
    Heading,
    Items,
    Paragraph,
    Part,
    Table,
)
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped

_BETWEEN = " " * 4
_SET_IN = " " * 10  # a note below its row


def as_text(document: Document) -> str:
    """Its blocks, a blank line between; the title is for pages, and left out."""
    return blocks_as_text(document.blocks)


def blocks_as_text(blocks: Sequence[Block]) -> str:
    """Some blocks, a blank line between those that don't belong together."""
    text = ""
    for number, block in enumerate(blocks):
        text += _between(blocks[number - 1], block) if number else ""
        text += _block(block)
    return text


def _between(before: Block, block: Block) -> str:
    match before, block:
        case Heading(level=level), _ if level > 1:
            return "\n"
        case Table(), Items(bulleted=False):
            return "\n"  # the lines that reckon with it
        case Part(), Part():
            return "\n\n\n"
        case _:
            return "\n\n"


def table_as_text(block: Table) -> str:
    """Its columns as wide as they need; rows below a row of one cell are set in."""
    heads = [column.title for column in block.columns]
    rows: list[list[str]] = []
    inset = ""
    for row in block.rows:
        if len(row) == 1 < len(heads):
            rows.append([row[0], *[""] * (len(heads) - 1)])
            inset = "  "
        else:
            rows.append([inset + row[0], *row[1:]])
    right = {number for number, column in enumerate(block.columns) if column.is_number}
    drawn = table(heads, rows, right=right)
    return _noted(drawn, block.notes) if block.notes else drawn


def _noted(drawn: str, notes: Mapping[int, str]) -> str:
    """A drawn table with its notes; two lines of it are the head and a rule."""
    head, rule, *lines = drawn.split("\n")
    below = (f"\n{wrapped(notes[k], first=_SET_IN)}" if k in notes else "" for k in count())
    return "\n".join([head, rule, *map(str.__add__, lines, below)])


def _block(block: Block) -> str:
    match block:
        case Heading(text=text) | Paragraph(text=text):
            return wrapped(text)
        case Items():
            return _items(block)
        case Table():
            return table_as_text(block)
        case Beside(tables=tables):
            return _side_by_side([table_as_text(each) for each in tables])
        case Figure(drawing=drawing, says=says, captioned=captioned):
            return f"{wrapped(says)}\n{drawing.in_text()}" if captioned else drawing.in_text()
        case Fold(title=title, blocks=blocks):
            return f"{wrapped(title)}\n\n{blocks_as_text(blocks)}"
        case Part(blocks=blocks):
            return blocks_as_text(blocks)
        case never:
            assert_never(never)


def _items(block: Items) -> str:
    first = "• " if block.bulleted else "  "
    lines = [wrapped(item, first=first) for item in block.items]
    return "\n".join([*lines, wrapped(block.then, first="  ")] if block.then else lines)


def _side_by_side(texts: Sequence[str]) -> str:
    columns = [text.split("\n") for text in texts]
    widths = [max(map(len, lines)) for lines in columns]
    return "\n".join(
        _BETWEEN.join(line.ljust(width) for line, width in zip(row, widths, strict=True)).rstrip()
        for row in zip_longest(*columns, fillvalue="")
    )
