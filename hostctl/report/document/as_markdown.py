"""A document as Markdown, with the tables that CommonMark's common extensions know."""

import re
from collections.abc import Sequence
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

_MEANT_OTHERWISE = re.compile(r"([\\`*_{}\[\]<>#|~&])")


def as_markdown(document: Document) -> str:
    """The whole document, its title as the first heading."""
    return f"## {_plain(document.title)}\n\n{_blocks(document.blocks)}\n"


def _blocks(blocks: Sequence[Block]) -> str:
    return "\n\n".join(map(_block, blocks))


def _block(block: Block) -> str:
    match block:
        case Heading(text=text, level=level):
            return f"{'#' * (level + 2)} {_plain(text)}"
        case Paragraph(text=text):
            return _plain(text)
        case Items(items=items, then=then):
            lines = "\n".join(f"- {_plain(item)}" for item in items)
            return f"{lines}\n\n{_plain(then)}" if then else lines
        case Table():
            return _table(block)
        case Beside(tables=tables):
            return "\n\n".join(map(_table, tables))
        case Figure(drawing=drawing, says=says):
            return f"{_plain(says)}\n\n```\n{drawing.in_text()}\n```"
        case Fold(title=title, blocks=blocks):
            return f"<details><summary>{_plain(title)}</summary>\n\n{_blocks(blocks)}\n\n</details>"
        case Part(title=title, blocks=blocks):
            return f"### {_plain(title)}\n\n{_blocks(blocks)}"
        case never:
            assert_never(never)


def _table(table: Table) -> str:
    heads = _line([column.title for column in table.columns])
    rule = "|".join("---:" if column.is_number else "---" for column in table.columns)
    noted = (
        cells
        for place, row in enumerate(table.rows)
        for cells in ([row, (table.notes[place],)] if place in table.notes else [row])
    )
    rows = [_line([*cells, *[""] * (len(table.columns) - len(cells))]) for cells in noted]
    return "\n".join([heads, f"|{rule}|", *rows])


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(_plain(cell.strip()) for cell in cells)} |"


def _plain(text: str) -> str:
    """The text, with what Markdown would take for a mark of its own made harmless."""
    escaped = _MEANT_OTHERWISE.sub(r"\\\1", " ".join(text.split()))
    return re.sub(r"^(\d*)([-+.)])(?=\s)", r"\1\\\2", escaped)
