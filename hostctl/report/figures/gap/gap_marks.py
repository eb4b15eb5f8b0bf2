"""Gaps as vector marks: dots, and below each row its mean on the bands that it is held against."""

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import NamedTuple

from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import short_number
from hostctl.report.figures.dots.row import DotRow
from hostctl.report.figures.dots.stacks import Stacks, drawn_row, readings_legend
from hostctl.report.figures.gap.gaps import GapRow, MeanBar
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.scale import Scale
from hostctl.report.figures.pen.written import (
    LINE_PX,
    LegendItem,
    as_sign,
    foot,
    legend,
    paragraph,
    row_head,
)

LANE_PX = 20.0  # below the dots: the mean with its interval
END_PX, TIE_PX, MEAN_PX = 5.0, 4.0, 3.5  # half the height of an end, of the tie's part, of a mean
THE_TIE = "the tie alone, about the target"
_ON_GRID = 1e-6


class Held(NamedTuple):
    """What rows are held against: the gap wanted, how far a mean and how far a setting may be
    off, mm; None where that is not stated."""

    target_mm: float
    margin_mm: float | None
    within_mm: float | None


def drawn_gaps(
    rows: Sequence[GapRow],
    step_mm: float,
    scale: Scale,
    held: Held,
    tie: MeanBar | None,
    cut: str,
) -> Picture:
    """Every row with its head, its bands behind it, the scale and what the marks mean. cut: what is
    said of settings off the scale."""
    dotted = [row.readings for row in rows]
    stacks = Stacks.of(dotted, step_mm, scale, _origin(dotted, step_mm))
    ink, y = Ink(), float(LINE_PX)
    ink.centred(scale.share(held.target_mm), y - 4, f"target {short_number(held.target_mm)} mm")
    for row in rows:
        ink.may_be_cut(y + 4)
        if row.readings.head:
            y = row_head(ink, y + 8, row.readings.head, bold=True)
        y = row_head(ink, y + 8, row.readings.label, row.readings.note)
        top, y = y, drawn_row(ink, y, row.readings, stacks)
        far = _lane(ink, y, row.mean, scale)
        _bands(ink, top, y + LANE_PX, row.meant_mm, scale, held)
        y = _said_of(ink, y + LANE_PX, far)
    if tie is not None:
        ink.may_be_cut(y + 4)
        top = y = row_head(ink, y + 8, THE_TIE)
        far = _lane(ink, y, tie, scale)
        _bands(ink, top, y + LANE_PX, held.target_mm, scale, held)
        y = _said_of(ink, y + LANE_PX, far)
    y = foot(ink, y + 2, scale, "gap, mm", signed=False)
    y = legend(ink, y, [*readings_legend(dotted, stacks), *_legend(rows, held, tie)])
    return ink.picture(paragraph(ink, y, cut) + 2)


def _lane(ink: Ink, y: float, bar: MeanBar | None, scale: Scale) -> list[float]:
    """A mean with its interval, the tie's part of it as an open box. Returns which ends are too
    far off to be drawn."""
    if bar is None:
        return []
    middle = y + LANE_PX / 2 + 1
    left, right = scale.share(bar.low), scale.share(bar.high)
    ink.line((left, middle), (right, middle), width=2)
    ends = ((bar.low, left, "left", -7), (bar.high, right, "right", 7))
    for end, x, towards, aside_px in ends:
        if scale.holds(end):
            ink.line((x, middle - END_PX), (x, middle + END_PX), width=2)
        else:
            ink.arrow(x, middle, towards=towards, aside_px=aside_px)
    corners = [scale.share(end) for end in (bar.tie_low, bar.tie_high)]
    ink.box((corners[0], middle - TIE_PX), (corners[1], middle + TIE_PX), hollow=True)
    if scale.holds(bar.value):
        ink.sign(Shape.DOT, scale.share(bar.value), middle, MEAN_PX)
    return [end for end, *_ in ends if not scale.holds(end)]


def _said_of(ink: Ink, y: float, far: Sequence[float]) -> float:
    """How far on what was cut goes, where that is known."""
    known = [short_number(end) for end in far if isfinite(end)]
    if not known:
        return y
    ink.text(1, y + 11, "on to " + " and ".join(known), anchor="end")
    return y + LINE_PX


def _bands(ink: Ink, top: float, bottom: float, meant_mm: float, scale: Scale, held: Held) -> None:
    """Behind a row: the tolerance as a pale area, the margin between dashed lines, and the gap
    wanted as a line."""
    if held.within_mm is not None:
        left, right = _ends(meant_mm, held.within_mm, scale)
        ink.ground((left, top), (right, bottom), FAINT)
    if held.margin_mm is not None:
        for x in _ends(meant_mm, held.margin_mm, scale):
            ink.line((x, top), (x, bottom), weight=PALE, width=1.5, dashed=True, beneath=True)
    x = scale.share(meant_mm)
    ink.line((x, top), (x, bottom), weight=PALE, width=1.5, beneath=True)


def _ends(middle_mm: float, reach_mm: float, scale: Scale) -> tuple[float, float]:
    return scale.share(middle_mm - reach_mm), scale.share(middle_mm + reach_mm)


def _legend(rows: Sequence[GapRow], held: Held, tie: MeanBar | None) -> Iterator[LegendItem]:
    yield as_sign(Shape.TICK, 6), "the gap wanted"
    if held.margin_mm is not None:
        yield Ink.dash, f"a mean within ±{short_number(held.margin_mm)} mm is on target"
    if held.within_mm is not None:
        yield _pale, f"tolerance ±{short_number(held.within_mm)} mm"
    if any(row.mean is not None for row in rows):
        yield _small_mean, "mean gap (95 %)"
    if tie is not None or any(row.mean is not None for row in rows):
        yield _small_box, "the tie's part, common to all rows"


def _pale(ink: Ink, x: float, y: float) -> None:
    ink.patch(x, y, FAINT * 2)


def _small_mean(ink: Ink, x: float, y: float) -> None:
    for aside_px in (-6, 6):
        ink.sign(Shape.TICK, 0, y, 3.5, aside_px=x + aside_px)
    ink.stroke(x, y)
    ink.sign(Shape.DOT, 0, y, MEAN_PX, aside_px=x)


def _small_box(ink: Ink, x: float, y: float) -> None:
    ink.patch(x, y, 0)


def _origin(rows: Sequence[DotRow], step_mm: float) -> float | None:
    """A value on the grid that all readings share; None where they lie on several, as those of
    points whose ties differ do."""
    values = [dots.value_mm for row in rows for dots in row.dots]
    if not values:
        return None
    steps = ((value - values[0]) / step_mm for value in values)
    return values[0] if all(abs(one - round(one)) < _ON_GRID for one in steps) else None
