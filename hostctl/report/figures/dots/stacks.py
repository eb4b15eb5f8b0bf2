"""Rows of readings as vector marks: stacked dots while these can be told apart, else bars."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Self

from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import short_number
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import NARROW_PX
from hostctl.report.figures.pen.scale import Scale
from hostctl.report.figures.pen.written import (
    LINE_PX,
    Drawn,
    LegendItem,
    as_sign,
    foot,
    legend,
    paragraph,
    row_head,
)

STACK_PX = 126.0  # fourteen dots of full size
LEAST_STACK_PX = 60.0
FULL_ROWS = 6  # so many rows may be as high as that; more share the height
BAR_PX = 9.0  # the widest, on a phone
RADII = (4.0, 3.5, 3.0, 2.5, 2.0)  # of a dot, in px; smaller ones are no dots any more
MOST_DOTS = 500  # of a row; beyond, nobody counts them
MOST_DOTS_OF_ALL = 2500
SEEN_PX = 6.0  # a bar outside that is lower gets a diamond
MOST_GRID = 30  # graduations that are drawn as lines
AVERAGE = 4.0  # half the height of its tick


@dataclass(frozen=True, slots=True)
class Stacks:
    """How all rows of a figure are stacked. radius: of a dot.  bin_mm: what is one stack;
    most: dots in a row, beyond which it is drawn as bars.  high_px: of a row at most.
    origin_mm: a value on the grid of graduations; None where there is no grid common to all."""

    scale: Scale
    step_mm: float
    radius: float
    bin_mm: float
    most: int
    high_px: float
    origin_mm: float | None = 0.0

    @classmethod
    def of(
        cls, rows: Sequence[DotRow], step_mm: float, scale: Scale, origin_mm: float | None = 0.0
    ) -> Self:
        """The largest dots with which every row fits; rows that fit with none become bars."""
        numbers = sorted(_readings(row) for row in rows)
        most = MOST_DOTS
        if sum(n for n in numbers if n <= most) > MOST_DOTS_OF_ALL:
            most = MOST_DOTS_OF_ALL // len(rows)
        high_px = max(LEAST_STACK_PX, STACK_PX * min(1.0, FULL_ROWS / len(rows)))
        tried = [
            cls(scale, step_mm, r, _bin(step_mm, scale, 2 * r), most, high_px, origin_mm)
            for r in RADII
        ]
        dotted = [row for row in rows if not tried[-1].is_barred(row)]
        for one in tried:
            if all(one.tallest(row) * one.pitch <= high_px for row in dotted):
                return one
        return tried[-1]

    @property
    def bars_px(self) -> float:
        """The height of the tallest bar."""
        return self.high_px * 2 / 3

    @property
    def pitch(self) -> float:
        """From dot to dot, upwards."""
        return 2 * self.radius + 1

    def tallest(self, row: DotRow) -> int:
        """How many dots the tallest stack has."""
        return max((sum(d.count for d in stack) for stack in self.stacked(row).values()), default=0)

    def is_barred(self, row: DotRow) -> bool:
        """Whether the row is drawn as bars."""
        return _readings(row) > self.most or self.tallest(row) * (2 * RADII[-1] + 1) > self.high_px

    def stacked(self, row: DotRow) -> dict[int, list[Dots]]:
        """What shares a stack, from left to right."""
        found: dict[int, list[Dots]] = defaultdict(list)
        for dots in row.dots:
            value = min(max(dots.value_mm, self.scale.low), self.scale.high)
            found[self.bin_of(value, self.bin_mm)].append(dots)
        return found

    def bin_of(self, value_mm: float, bin_mm: float) -> int:
        """In which of the bins of that width a value lies, as a whole number of them."""
        return round((value_mm - (self.origin_mm or 0.0)) / bin_mm)


def drawn_rows(
    rows: Sequence[DotRow],
    stacks: Stacks,
    within_mm: float | None,
    counted_from: str,
    cut: str,
) -> Picture:
    """Every row with its head, the limits behind all, the scale and what the signs mean. cut: what
    is said of those off the scale."""
    ink, scale, y = Ink(), stacks.scale, 0.0
    if within_mm is not None:
        y += LINE_PX
        ink.centred(scale.share(0), y - 4, f"±{short_number(within_mm)} mm")
    top = y
    for row in rows:
        ink.may_be_cut(y + 4)
        if row.head:
            y = row_head(ink, y + 8, row.head, bold=True)
        y = row_head(ink, y + 8, row.label, row.note)
        y = drawn_row(ink, y, row, stacks)
    if within_mm is not None:
        left, right = (scale.share(end) for end in (-within_mm, within_mm))
        ink.ground((left, top), (right, y), FAINT)
    y = foot(ink, y, scale, f"mm from {counted_from}", signed=True)
    y = legend(ink, y, list(readings_legend(rows, stacks)))
    return ink.picture(paragraph(ink, y, cut) + 2)


def readings_legend(rows: Sequence[DotRow], stacks: Stacks) -> Iterator[LegendItem]:
    barred = [stacks.is_barred(row) for row in rows]
    if not all(barred):
        yield as_sign(Shape.DOT), "a reading"
    yield from _set_apart(
        [one for row in rows for one in row.dots], _pale if all(barred) else _open
    )
    if any(row.zero > bars for row, bars in zip(rows, barred, strict=True)):
        yield as_sign(Shape.RING), "the block's own zero"
    if any(row.average_mm is not None for row in rows):
        yield as_sign(Shape.TICK, AVERAGE), "average"
    if any(barred):
        yield _small_bars, "number of readings; the largest is written"


def _set_apart(dots: Sequence[Dots], doubted: Drawn) -> Iterator[LegendItem]:
    if any(one.outside for one in dots):
        yield as_sign(Shape.DIAMOND, accent=True), "outside"
    if any(one.doubted for one in dots):
        yield doubted, "read since the last good check of the tie"


def _open(ink: Ink, x: float, y: float) -> None:
    ink.sign(Shape.RING, 0, y, 3.5, aside_px=x)


def _pale(ink: Ink, x: float, y: float) -> None:
    ink.patch(x, y, PALE)


def _small_bars(ink: Ink, x: float, y: float) -> None:
    for place, radius in ((-5, 2.0), (0, 5.0), (5, 3.0)):
        ink.sign(Shape.TICK, 0, y + 5 - radius, radius, aside_px=x + place)


def drawn_row(ink: Ink, y: float, row: DotRow, stacks: Stacks) -> float:
    """The readings of a row, below y. Returns where the next row may begin."""
    barred = stacks.is_barred(row)
    high = stacks.bars_px + 18 if barred else max(1, stacks.tallest(row)) * stacks.pitch
    base = y + high + 5
    _grid(ink, stacks, base - stacks.bars_px if barred else y + 3, base)
    ink.line((0, base), (1, base), weight=PALE)
    if barred:
        _bars(ink, base, row, stacks)
    else:
        _dots(ink, base, row, stacks)
    _cut_ends(ink, base, row, stacks)
    if row.average_mm is None:
        return base
    ink.sign(Shape.TICK, stacks.scale.share(row.average_mm), base + AVERAGE + 1, AVERAGE)
    return base + 2 * AVERAGE + 4


def _dots(ink: Ink, base: float, row: DotRow, stacks: Stacks) -> None:
    ring_due = row.zero
    for stack in stacks.stacked(row).values():
        level = 0
        for dots in stack:
            for _ in range(dots.count):
                y = base - 1 - stacks.radius - level * stacks.pitch
                x = stacks.scale.share(dots.value_mm)
                if dots.outside:
                    shape = Shape.OPEN_DIAMOND if dots.doubted else Shape.DIAMOND
                    ink.sign(shape, x, y, stacks.radius, accent=True)
                elif dots.doubted:
                    ink.sign(Shape.RING, x, y, stacks.radius - 0.5)
                elif ring_due and dots.value_mm == 0:
                    ink.sign(Shape.RING, x, y, stacks.radius - 0.5)
                    ring_due = False
                else:
                    ink.sign(Shape.DOT, x, y, stacks.radius)
                level += 1


def _bars(ink: Ink, base: float, row: DotRow, stacks: Stacks) -> None:
    """A bar a bin: what is doubted pale at its foot, what is outside at its top."""
    bin_mm = _bin(stacks.step_mm, stacks.scale, 1.5)
    heaps: dict[int, list[int]] = defaultdict(lambda: [0, 0, 0])
    for dots in row.dots:
        value = min(max(dots.value_mm, stacks.scale.low), stacks.scale.high)
        kind = 2 if dots.outside else 0 if dots.doubted else 1
        heaps[stacks.bin_of(value, bin_mm)][kind] += dots.count
    most = max(map(sum, heaps.values()))
    px = stacks.bars_px / most
    wide = min(0.9 * bin_mm * stacks.scale.per_unit, BAR_PX / NARROW_PX)
    origin_mm = stacks.origin_mm or 0.0
    bars = [
        (stacks.scale.share(origin_mm + at * bin_mm), heap) for at, heap in sorted(heaps.items())
    ]
    pale, plain, beyond = (_columns(bars, kind, wide, base, px) for kind in range(3))
    ink.columns(pale, weight=PALE)
    ink.columns(plain)
    ink.columns(beyond, accent=True)
    for x, heap in bars:
        if heap[2] and px * sum(heap) < SEEN_PX:
            ink.sign(Shape.DIAMOND, x, base - px * sum(heap) - 4, 3, accent=True)
    highest = next(x for x, heap in bars if sum(heap) == most)
    ink.centred(highest, base - stacks.bars_px - 4, f"{most:,}")


def _columns(
    bars: Sequence[tuple[float, Sequence[int]]], kind: int, wide: float, base: float, px: float
) -> list[tuple[float, float, float, float]]:
    """The part of each bar that is of one kind; those before it are below. px: of one reading."""
    found = []
    for x, heap in bars:
        below, its = sum(heap[:kind]), heap[kind]
        if its:
            ends = (base - px * (below + its), base - px * below)
            found.append((x - wide / 2, x + wide / 2, *ends))
    return found


def _cut_ends(ink: Ink, base: float, row: DotRow, stacks: Stacks) -> None:
    """An arrow where readings lie beyond the scale."""
    scale = stacks.scale
    if any(dots.value_mm < scale.low and not scale.holds(dots.value_mm) for dots in row.dots):
        ink.arrow(0.005, base - 6, towards="left", accent=True)
    if any(dots.value_mm > scale.high and not scale.holds(dots.value_mm) for dots in row.dots):
        ink.arrow(0.995, base - 6, accent=True)


def _grid(ink: Ink, stacks: Stacks, top: float, base: float) -> None:
    """Each graduation as a faint line, unless they are too many."""
    scale, step, origin = stacks.scale, stacks.step_mm, stacks.origin_mm
    if origin is None or (scale.high - scale.low) / step > MOST_GRID:
        return
    low, high = scale.low - origin, scale.high - origin
    for k in range(ceil(low / step - 1e-9), int(high // step) + 1):
        x = scale.share(origin + k * step)
        strong = k == 0 and origin == 0.0
        ink.line((x, top), (x, base), weight=FAINT * (2.5 if strong else 1))


def _bin(step_mm: float, scale: Scale, px: float) -> float:
    """So many whole graduations as take so many px on a phone."""
    return step_mm * max(1, ceil(px / NARROW_PX / scale.per_unit / step_mm - 1e-6))


def _readings(row: DotRow) -> int:
    return sum(dots.count for dots in row.dots)
