"""What is said first of any readings, and of a run all that `show` says."""

from collections.abc import Iterator

from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.analysis.told.answer import FURTHER, answer
from hostctl.report.analysis.told.cautions import cautions
from hostctl.report.analysis.told.described import readings_figure
from hostctl.report.analysis.told.tables import what_was_read
from hostctl.report.analysis.told.words import Words
from hostctl.report.document.blocks import Block, Document, Heading, Items, Paragraph, Role, Table


def short_document(judgement: Judgement, readings: Table | None = None) -> Document:
    """The answer, the first table and the cautions, word for word those of the whole document.

    readings: every reading, to be listed below.
    """
    return Document(
        title=judgement.source.title,
        blocks=(
            *answered(judgement),
            *how_far_off(judgement),
            *what_was_read(judgement),
            *before_believing(judgement),
            *([readings] if readings else []),
        ),
    )


def document_of_nothing(name: str, title: str, readings: Table | None = None) -> Document:
    """What there is to say of a run of which no reading counts."""
    says = "No reading of it counts yet, so there is nothing to judge."
    return Document(
        title=title,
        blocks=(
            Paragraph(text=says, role=Role.ANSWER),
            Paragraph(text=f"{name}: {title}"),
            *([readings] if readings else []),
        ),
    )


def answered(judgement: Judgement, further: str = FURTHER) -> Iterator[Block]:
    """The answer, of what readings, and how these lie. further: where the rest is told."""
    said = answer(judgement, further)
    yield from (Paragraph(text=sentence, role=Role.ANSWER) for sentence in said)
    name, title = judgement.source.name, judgement.source.title
    yield Paragraph(text=title if title.endswith(name) else f"{name}: {title}")  # a file: its title
    yield readings_figure(judgement)


def how_far_off(judgement: Judgement) -> Iterator[Block]:
    """How far off each sets, and the tie behind it; nothing where nothing ties readings to the
    nozzle."""
    if judgement.tie is not None:
        from hostctl.report.trueness import told

        words, rig_out = Words.of(judgement), judgement.rig is not None
        yield from told.how_far_off(judgement.trueness, judgement.tie, words, rig_out=rig_out)


def before_believing(judgement: Judgement) -> Iterator[Block]:
    """The cautions."""
    yield Heading(text="Before believing it")
    yield Items(items=tuple(cautions(judgement)), role=Role.CAUTION)
