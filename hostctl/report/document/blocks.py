"""A document: a result in words, tables and figures, before anybody has laid it out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar, Protocol

from hostctl.report.document.picture import Picture


class Role(StrEnum):
    """What sentences are there for; answers and cautions go into the JSON too."""

    QUESTION = "question"
    ANSWER = "answer"
    CAUTION = "caution"
    REST = "rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What comes next. level: 1, or 2 within it."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """Sentences that are read one after the other."""

    text: str
    role: Role = Role.REST


@dataclass(frozen=True, slots=True, kw_only=True)
class Items:
    """Sentences that stand side by side. bulleted: else they are the lines of a reckoning.

    then: what follows from all of them, right below.
    """

    items: tuple[str, ...]
    role: Role = Role.REST
    bulleted: bool = True
    then: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table. unit: of all its cells, empty where there is none or each says its own.

    is_number: its cells are set flush right.
    """

    head: str
    unit: str = ""
    is_number: bool = False

    @property
    def title(self) -> str:
        """The head with its unit."""
        return f"{self.head}, {self.unit}" if self.unit else self.head


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of cells as they are read. A row of one cell alone heads the rows below it.

    notes: what is said below some rows, by the place of the row.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Small tables that fit beside each other."""

    tables: tuple[Table, ...]


class Drawing(Protocol):
    """The data of a figure of one kind: a frozen record, which can be drawn."""

    kind: ClassVar[str]

    def in_text(self) -> str:
        """Drawn with letters and block signs, for a terminal."""
        ...

    def in_svg(self) -> Picture:
        """Drawn as vector marks, for a page and for paper."""
        ...

    def numbers(self) -> Table:
        """Every number that is drawn, for who can't see it."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing. says: what there is to see in it, in a sentence.  name: by which to ask for it.

    captioned: false where the words around it say the same; then only pages, which may be heard
    instead of seen, repeat it.
    """

    drawing: Drawing
    says: str
    name: str
    captioned: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Fold:
    """What only some want to read: formulas with numbers. In text it stands open."""

    title: str
    blocks: "tuple[Block, ...]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The answer to one of several things that were asked at once; its title is for pages."""

    title: str
    blocks: "tuple[Block, ...]"


Block = Heading | Paragraph | Items | Table | Beside | Figure | Fold | Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """All that is said of one result, in the order in which it is read."""

    title: str
    blocks: tuple[Block, ...]

    def said(self, role: Role) -> list[str]:
        """The sentences or paragraphs of one role."""
        return [text for block in self.blocks for text in _said(block, role)]

    def figures(self) -> dict[str, Figure]:
        """Every figure by its name."""
        return {figure.name: figure for figure in _figures(self.blocks)}


def _said(block: Block, role: Role) -> Iterator[str]:
    match block:
        case Paragraph(text=text, role=its) if its is role:
            yield text
        case Items(items=items, role=its) if its is role:
            yield from items
        case Fold(blocks=blocks) | Part(blocks=blocks):
            for inner in blocks:
                yield from _said(inner, role)
        case _:
            return


def _figures(blocks: Sequence[Block]) -> Iterator[Figure]:
    for block in blocks:
        match block:
            case Figure():
                yield block
            case Fold(blocks=inner) | Part(blocks=inner):
                yield from _figures(inner)
            case _:
                continue
