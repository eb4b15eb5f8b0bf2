"""What is written in a figure: heads of rows, the scale at the foot, what the marks mean."""

from collections.abc import Callable, Sequence

from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import (
    NARROW_PX,
    TEXT_PX,
    lines,
    plain,
    shortened,
    width_px,
)
from hostctl.report.figures.pen.scale import Scale

LINE_PX = 17
GAP_PX = 14.0  # between two things on one line
MARK_PX = 18.0  # a mark in a legend, with the blank after it

Drawn = Callable[[Ink, float, float], None]  # puts a mark around x px from the left, y px down
LegendItem = tuple[Drawn, str]


def row_head(ink: Ink, y: float, label: str, note: str = "", *, bold: bool = False) -> float:
    """The label at the left and the note at the right, below it where there is no room.
    Returns where the row itself begins."""
    label, note = plain(label), plain(note)
    beside = width_px(label, bold=bold) + GAP_PX + width_px(note) <= NARROW_PX
    for line in lines(label, NARROW_PX, most=3, bold=bold):
        y += LINE_PX
        ink.text(0, y - 4, line, bold=bold)
    if beside and label.strip():
        ink.text(1, y - 4, note, anchor="end")
        return y
    return paragraph(ink, y, note)


def paragraph(ink: Ink, y: float, words: str, *, aside_px: float = 0.0) -> float:
    """Words over the width of a phone, in as many lines as they need."""
    for line in lines(plain(words), NARROW_PX - aside_px):
        y += LINE_PX
        ink.text(0, y - 4, line, aside_px=aside_px)
    return y


def foot(ink: Ink, y: float, scale: Scale, caption: str, *, signed: bool) -> float:
    """The scale with its round values, and what it is of. Returns where it ends."""
    ink.line((0, y), (1, y), weight=PALE)
    for value, label in scale.ticks(signed=signed):
        ink.line((scale.share(value), y), (scale.share(value), y + 5))
        ink.centred(scale.share(value), y + 6 + TEXT_PX, label)
    return paragraph(ink, y + 9 + TEXT_PX, caption)


def legend(ink: Ink, y: float, items: Sequence[LegendItem]) -> float:
    """What the marks mean, one after the other, on as many lines as they need."""
    x = 0.0
    y += LINE_PX if items else 0
    for draw, words in items:
        words = shortened(plain(words), NARROW_PX - MARK_PX)
        if x and x + MARK_PX + width_px(words) > NARROW_PX:
            x, y = 0.0, y + LINE_PX
        draw(ink, x + MARK_PX / 2 - 2, y - 4 - TEXT_PX * 0.36)
        ink.text(0, y - 4, words, aside_px=x + MARK_PX)
        x += MARK_PX + width_px(words) + GAP_PX
    return y


def as_sign(shape: Shape, radius: float = 4.0, *, accent: bool = False) -> Drawn:
    """A mark of that shape."""
    return lambda ink, x, y: ink.sign(shape, 0, y, radius, aside_px=x, accent=accent)


def upright(ink: Ink, scale: Scale, top: float, bottom: float) -> None:
    """Round levels of a scale that stands upright: pale lines, each with its value at the left."""
    for value, label in scale.levels(signed=True):
        y = height(scale, value, top, bottom)
        ink.line((0, y), (1, y), weight=FAINT)
        ink.text(0, y - 3, label)


def height(scale: Scale, value: float, top: float, bottom: float) -> float:
    """Where a value lies on an upright scale, in px."""
    return bottom - (bottom - top) * scale.share(value)
