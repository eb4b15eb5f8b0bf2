"""A document as plain text, for a terminal 80 columns wide."""

from collections.abc import Sequence
from itertools import zip_longest
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
    Table,
)
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped

_BETWEEN = " " * 4


def as_text(document: Document) -> str:
    """Its blocks, a blank line between; the title is for pages, and left out."""
    return blocks_as_text(document.blocks)


def blocks_as_text(blocks: Sequence[Block]) -> str:
    """Some blocks, a blank line between those that don't belong together."""
    text = ""
    for number, block in enumerate(blocks):
        if number:
            text += "\n" if _belong_together(blocks[number - 1], block) else "\n\n"
        text += _block(block)
    return text


def _belong_together(one: Block, other: Block) -> bool:
    """A small heading and what follows it; a table and the lines that reckon with it."""
    match one, other:
        case Heading(level=level), _ if level > 1:
            return True
        case Table(), Items(bulleted=False):
            return True
        case _:
            return False


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
    return table(heads, rows, right=right)


def _block(block: Block) -> str:
    match block:
        case Heading(text=text) | Paragraph(text=text):
            return wrapped(text)
        case Items(items=items, bulleted=bulleted):
            return "\n".join(wrapped(item, first="• " if bulleted else "  ") for item in items)
        case Table():
            return table_as_text(block)
        case Beside(tables=tables):
            return _side_by_side([table_as_text(each) for each in tables])
        case Figure(drawing=drawing, says=says):
            return f"{wrapped(says)}\n{drawing.in_text()}"
        case Fold(title=title, blocks=blocks):
            return f"{wrapped(title)}\n\n{blocks_as_text(blocks)}"
        case never:
            assert_never(never)


def _side_by_side(texts: Sequence[str]) -> str:
    columns = [text.split("\n") for text in texts]
    widths = [max(map(len, lines)) for lines in columns]
    return "\n".join(
        _BETWEEN.join(line.ljust(width) for line, width in zip(row, widths, strict=True)).rstrip()
        for row in zip_longest(*columns, fillvalue="")
    )
