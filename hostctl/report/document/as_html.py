"""A document as a piece of HTML: no style, no script, nothing from elsewhere."""

from collections.abc import Sequence
from html import escape
from typing import assert_never

from hostctl.report.document.blocks import (
    Beside,
    Block,
    Column,
    Document,
    Figure,
    Fold,
    Heading,
    Items,
    Paragraph,
    Part,
    Table,
)

NUMBERS = "The numbers in this figure"


def as_html(document: Document) -> str:
    """One section, to be set into a page or shown in a notebook."""
    title = f"<h2>{escape(document.title)}</h2>"
    return f"<section>\n{title}\n{blocks_as_html(document.blocks)}\n</section>"


def blocks_as_html(blocks: Sequence[Block]) -> str:
    """The same, one after the other."""
    return "\n".join(map(_block, blocks))


def _block(block: Block) -> str:
    match block:
        case Heading(text=text, level=level):
            return f"<h{level + 2}>{escape(text)}</h{level + 2}>"
        case Paragraph(text=text, role=role):
            return f'<p class="{role}">{escape(text)}</p>'
        case Items():
            return _items(block)
        case Table():
            return _table(block)
        case Beside(tables=tables):
            return f'<div class="beside">{"".join(map(_table, tables))}</div>'
        case Figure():
            return _figure(block)
        case Fold(title=title, blocks=blocks):
            return (
                f"<details><summary>{escape(title)}</summary>\n{blocks_as_html(blocks)}\n</details>"
            )
        case Part(title=title, blocks=blocks):
            return f"<section>\n<h3>{escape(title)}</h3>\n{blocks_as_html(blocks)}\n</section>"
        case never:
            assert_never(never)


def _figure(figure: Figure) -> str:
    """The drawing, what it says, and every number in it for who can't see it."""
    picture, says = figure.drawing.in_svg(), escape(figure.says)
    drawn = (
        f'<svg role="img" aria-label="{says}" width="100%" height="{picture.height_px}">\n'
        f"{picture.marks}\n</svg>"
    )
    numbers = (
        f"<details><summary>{NUMBERS}</summary>\n{_table(figure.drawing.numbers())}\n</details>"
    )
    return f"<figure>\n{drawn}\n<figcaption>{says}</figcaption>\n{numbers}\n</figure>"


def _items(block: Items) -> str:
    kind = block.role if block.bulleted else "reckoning"
    lines = "".join(f"<li>{escape(item)}</li>" for item in block.items)
    then = f"\n<p>{escape(block.then)}</p>" if block.then else ""
    return f'<ul class="{kind}">{lines}</ul>{then}'


def _table(table: Table) -> str:
    heads = "".join(
        f'<th scope="col"{_flush(column)}>{escape(column.title)}</th>' for column in table.columns
    )
    span = len(table.columns)
    rows = "\n".join(
        f"{_row(row, table.columns)}{_note(table.notes.get(place), span)}"
        for place, row in enumerate(table.rows)
    )
    return f"<table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>"


def _row(cells: Sequence[str], columns: Sequence[Column]) -> str:
    if len(cells) == 1 < len(columns):
        return f'<tr><th scope="rowgroup" colspan="{len(columns)}">{escape(cells[0])}</th></tr>'
    marked = (
        f"<td{_flush(column)}>{escape(cell.strip())}</td>"
        for cell, column in zip(cells, columns, strict=True)
    )
    return f"<tr>{''.join(marked)}</tr>"


def _note(note: str | None, span: int) -> str:
    if note is None:
        return ""
    return f'\n<tr class="note"><td colspan="{span}">{escape(note)}</td></tr>'


def _flush(column: Column) -> str:
    return ' style="text-align:right"' if column.is_number else ""
