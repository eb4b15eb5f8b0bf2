"""A document as a piece of HTML: no style sheet, no script, nothing from elsewhere.

It stands in a page as it does in a notebook, which knows nothing of the page's style: so numbers
are set flush right, and a figure kept from growing too wide, by the elements themselves.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
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
from hostctl.report.document.html_words import in_attribute, words
from hostctl.report.document.picture import Picture

DRAWN = "A drawing; its numbers are in the table below it"
NUMBERS = "The numbers in this figure"
MOST_ON_PAPER_PX = 820  # of Letter and A4, less margins and what the figure says

LETTERS_ON_A_PHONE = 40  # of a table's text in one line, on the narrowest phone in use
BETWEEN_COLUMNS = 2  # as wide as so many letters
IN_ONE_LINE = 24  # letters of a cell; a longer one is broken into lines about as long


@dataclass(frozen=True, slots=True)
class Frame:
    """Where blocks stand. level: of a heading that heads them, 2 the highest.

    address: gives a heading its place in the page, so that links lead there; None without.
    """

    level: int
    address: Callable[[str, int], str] | None = None

    @property
    def within(self) -> "Frame":
        """One level further down."""
        return replace(self, level=self.level + 1)


def as_html(document: Document) -> str:
    """One section, to be set into a page or shown in a notebook."""
    title = f"<h2>{words(document.title)}</h2>"
    return f"<section>\n{title}\n{blocks_as_html(document.blocks, Frame(level=3))}\n</section>"


def blocks_as_html(blocks: Sequence[Block], frame: Frame) -> str:
    """The same, one after the other."""
    return "\n".join(_block(block, frame) for block in blocks)


def table_as_html(table: Table) -> str:
    """A table; one that is too wide for a phone in a frame of its own, moved by keys too."""
    heads = "".join(
        f'<th scope="col"{_flush(column)}>{words(column.title)}</th>' for column in table.columns
    )
    span = len(table.columns)
    rows = "\n".join(
        f"{_row(row, table.columns)}{_note(table.notes.get(place), span)}"
        for place, row in enumerate(table.rows)
    )
    made = f"<table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>"
    if letters_wide(table) <= LETTERS_ON_A_PHONE:
        return made
    label = in_attribute(", ".join(column.head for column in table.columns if column.head))
    return f'<div class="wide" role="group" tabindex="0" aria-label="{label}">\n{made}\n</div>'


def letters_wide(table: Table) -> int:
    """How wide it is at its narrowest, in letters."""
    whole = [row for row in table.rows if len(row) == len(table.columns)]
    columns = zip(table.columns, zip(*whole, strict=True), strict=True) if whole else ()
    return sum(
        max(*map(_narrowest, cells), *map(len, column.title.split()), 0) + BETWEEN_COLUMNS
        for column, cells in columns
    )


def _narrowest(cell: str) -> int:
    return min(len(cell.strip()), IN_ONE_LINE)


def _block(block: Block, frame: Frame) -> str:
    match block:
        case Heading(text=text, level=level):
            return _heading(text, replace(frame, level=frame.level + level - 1))
        case Paragraph(text=text, role=role):
            return f'<p class="{role}">{words(text)}</p>'
        case Items():
            return _items(block)
        case Table():
            return table_as_html(block)
        case Beside(tables=tables):
            return f'<div class="beside">{"".join(map(table_as_html, tables))}</div>'
        case Figure():
            return _figure(block)
        case Fold(title=title, blocks=blocks):
            return _fold(title, blocks_as_html(blocks, frame))
        case Part(title=title, blocks=blocks):
            inner = blocks_as_html(blocks, frame.within)
            return f"<section>\n{_heading(title, frame)}\n{inner}\n</section>"
        case never:
            assert_never(never)


def _heading(text: str, frame: Frame) -> str:
    at = f' id="{frame.address(text, frame.level)}"' if frame.address else ""
    return f"<h{frame.level}{at}>{words(text)}</h{frame.level}>"


def _fold(title: str, inner: str, kind: str = "fold") -> str:
    return (
        f'<details class="{kind}"><summary>{words(title)}</summary>\n<div>\n{inner}\n</div>\n'
        "</details>"
    )


def _figure(figure: Figure) -> str:
    """The drawing, what it says, and every number in it for who can't see it."""
    picture, pieces = figure.drawing.in_svg(), ""
    marks = picture.marks
    if picture.height_px > MOST_ON_PAPER_PX:
        marks = f'<g id="drawn-{in_attribute(figure.name)}">\n{marks}\n</g>'
        pieces = _pieces(picture, f"#drawn-{in_attribute(figure.name)}")
    drawn = (
        f'<svg role="img" aria-label="{DRAWN}" width="100%" height="{picture.height_px}" '
        f'style="max-width:58rem;overflow:visible">\n{marks}\n</svg>{pieces}'
    )
    numbers = _fold(NUMBERS, table_as_html(figure.drawing.numbers()), "numbers")
    says = f"<figcaption>{words(figure.says)}</figcaption>"
    return f'<figure style="margin-inline:0">\n{drawn}\n{says}\n{numbers}\n</figure>'


def _pieces(picture: Picture, address: str) -> str:
    """The same drawing taken apart, for paper that is too short for the whole."""
    drawn = "\n".join(
        f'<svg width="100%" height="{end - start}" style="overflow:hidden">'
        f'<use href="{address}" y="{-start}"/></svg>'
        for start, end in picture.pieces(MOST_ON_PAPER_PX)
    )
    return f'\n<div class="on-paper" aria-hidden="true" hidden>\n{drawn}\n</div>'


def _items(block: Items) -> str:
    kind = block.role if block.bulleted else "reckoning"
    lines = "".join(f"<li>{words(item)}</li>" for item in block.items)
    then = f'\n<p class="{block.role}">{words(block.then)}</p>' if block.then else ""
    return f'<ul class="{kind}">{lines}</ul>{then}'


def _row(cells: Sequence[str], columns: Sequence[Column]) -> str:
    if len(cells) == 1 < len(columns):
        return f'<tr><th scope="rowgroup" colspan="{len(columns)}">{words(cells[0])}</th></tr>'
    marked = (
        f"<td{_flush(column) or _longer(cell)}>{words(cell.strip())}</td>"
        for cell, column in zip(cells, columns, strict=True)
    )
    return f"<tr>{''.join(marked)}</tr>"


def _note(note: str | None, span: int) -> str:
    if note is None:
        return ""
    return f'\n<tr class="note"><td colspan="{span}">{words(note)}</td></tr>'


def _flush(column: Column) -> str:
    return ' class="number" style="text-align:right"' if column.is_number else ""


def _longer(cell: str) -> str:
    return ' class="sentence"' if len(cell.strip()) > IN_ONE_LINE else ""
