"""Every reading as a dot on a scale of graduations, one row a method, hand or block."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures import terminal
from hostctl.report.figures.dot_stacks import AVERAGE, Stacks, drawn_row
from hostctl.report.figures.ink import FAINT, Ink, Shape
from hostctl.report.figures.lettering import in_cells
from hostctl.report.figures.scale import Scale, readable
from hostctl.report.figures.written import (
    LINE_PX,
    LegendItem,
    as_sign,
    foot,
    legend,
    off_the_scale,
    paragraph,
    row_head,
)

MOST_STACKED = 12  # dots above each other in a terminal; beyond, a row is a profile
MOST_LINES = 36  # of all stacks
EIGHTHS = " ▁▂▃▄▅▆▇█"
DOT, ZERO, OUTSIDE = "●", "○", "◆"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dots:
    """So many readings at one value, mm. outside: beyond the limits."""

    value_mm: float
    count: int
    outside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DotRow:
    """Readings that belong together, in rising order. note: what a reader counts them for, as "12
    of 12 within".  zero: whether the block's own zero is one of them, drawn as a ring at 0.
    average_mm: marked below; None where it is 0 by definition.  head: heads this row and those
    below it."""

    label: str
    note: str
    dots: tuple[Dots, ...]
    zero: bool = False
    average_mm: float | None = None
    head: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DotRows:
    """At least one row. step_mm: a graduation, or several where they would be too many.
    within_mm: limits to either side of 0; None without.  counted_from: what 0 is, in words."""

    kind: ClassVar[str] = "dots"
    rows: tuple[DotRow, ...]
    step_mm: float
    within_mm: float | None
    counted_from: str

    def in_text(self) -> str:
        """A row its dots on top of each other, or its profile where they are many."""
        notes = terminal.label_width([row.note for row in self.rows])
        room = terminal.room_for_labels(notes)
        labels = terminal.label_width([row.label for row in self.rows], room)
        width = terminal.WIDTH - labels - notes - 4
        scale = self._scale()
        columns = [_columns(row, scale, width) for row in self.rows]
        tallest = [max(map(sum, row.values()), default=0) for row in columns]
        stacked = max(tallest) <= MOST_STACKED and sum(tallest) <= MOST_LINES
        out: list[str] = []
        for row, heaps in zip(self.rows, columns, strict=True):
            drawn = _stacked(heaps, width) if stacked else [_profile(heaps, width)]
            if stacked and row.zero:
                drawn[-1] = _with_zero(drawn[-1], terminal.column(scale, 0.0, width))
            out += [in_cells(row.head, terminal.WIDTH).rstrip()] * bool(row.head)
            out += [terminal.labelled("", labels, line) for line in drawn[:-1]]
            out.append(terminal.labelled(row.label, labels, drawn[-1], in_cells(row.note, notes)))
        return "\n".join([*out, *self._foot_in_text(scale, labels, width, stacked)])

    def in_svg(self) -> Picture:
        """Dots stacked where they share a graduation; a bar a graduation where there are many."""
        ink, scale = Ink(), self._scale()
        stacks = Stacks.of(self.rows, self.step_mm, scale)
        y = 0.0
        if self.within_mm is not None:
            y += LINE_PX
            ink.centred(scale.share(0), y - 4, f"±{short_number(self.within_mm)} mm")
        top = y
        for row in self.rows:
            ink.may_be_cut(y + 4)
            if row.head:
                y = row_head(ink, y + 8, row.head, bold=True)
            y = row_head(ink, y + 8, row.label, row.note)
            y = drawn_row(ink, y, row, stacks)
        if self.within_mm is not None:
            left, right = (scale.share(end) for end in (-self.within_mm, self.within_mm))
            ink.ground((left, top), (right, y), FAINT)
        y = foot(ink, y, scale, f"mm from {self.counted_from}", signed=True)
        y = legend(ink, y, list(self._legend(stacks)))
        return ink.picture(paragraph(ink, y, off_the_scale(self._cut(scale))) + 2)

    def numbers(self) -> Table:
        """How many readings at each value, row by row."""
        return Table(
            columns=(
                Column(head=f"from {self.counted_from}", unit="mm", is_number=True),
                Column(head="readings", is_number=True),
                Column(head=""),
            ),
            rows=tuple(cells for row in self.rows for cells in self._numbers(row)),
        )

    def _numbers(self, row: DotRow) -> Iterator[tuple[str, ...]]:
        yield (", ".join(filter(None, (row.head, row.label, row.note))) or "all",)
        for dots in row.dots:
            is_zero = row.zero and dots.value_mm == 0
            remarks = ["outside"] * dots.outside + ["the block's zero among them"] * is_zero
            yield self._in_mm(dots.value_mm), str(dots.count), ", ".join(remarks)
        if row.average_mm is not None:
            yield in_mm(row.average_mm, self.step_mm / 10), "", "average"

    def _in_mm(self, value_mm: float) -> str:
        """To the graduation where the values lie on it, else to a tenth of it."""
        on_grid = all(
            abs(dots.value_mm / self.step_mm - round(dots.value_mm / self.step_mm)) < 1e-6
            for row in self.rows
            for dots in row.dots
        )
        return in_mm(value_mm, self.step_mm if on_grid else self.step_mm / 10)

    def _scale(self) -> Scale:
        values = [(dots.value_mm, dots.count) for row in self.rows for dots in row.dots]
        limits = () if self.within_mm is None else (-self.within_mm, self.within_mm)
        averages = [row.average_mm for row in self.rows if row.average_mm is not None]
        low, high = readable(values or [(0.0, 1)], (0.0, *limits, *averages), self.step_mm)
        return Scale(low, high)

    def _cut(self, scale: Scale) -> list[str]:
        return [
            f"{row.label} {self._in_mm(dots.value_mm)} mm" + f" ({dots.count:,})" * (dots.count > 1)
            for row in self.rows
            for dots in row.dots
            if not scale.holds(dots.value_mm)
        ]

    def _legend(self, stacks: Stacks) -> Iterator[LegendItem]:
        barred = [stacks.is_barred(row) for row in self.rows]
        if not all(barred):
            yield as_sign(Shape.DOT), "a reading"
        if self._has_outside():
            yield as_sign(Shape.DIAMOND, accent=True), "outside"
        if any(row.zero > bars for row, bars in zip(self.rows, barred, strict=True)):
            yield as_sign(Shape.RING), "the block's own zero"
        if any(row.average_mm is not None for row in self.rows):
            yield as_sign(Shape.TICK, AVERAGE), "average"
        if any(barred):
            yield partial(_small_bars), "number of readings; the largest is written"

    def _has_outside(self) -> bool:
        return any(dots.outside for row in self.rows for dots in row.dots)

    def _foot_in_text(self, scale: Scale, labels: int, width: int, stacked: bool) -> Iterator[str]:
        within = self.within_mm
        ends = () if within is None else (-within, within)
        signed = zip("−+", ends, strict=False)
        marks = [(0.0, "0"), *((end, sign + short_number(abs(end))) for sign, end in signed)]
        marks += scale.levels(signed=True)
        for line in terminal.foot(scale, width, marks, ends or None):
            yield terminal.labelled("", labels, line)
        says = f"mm from {self.counted_from}"
        says += "" if stacked else "; ▁ to █: from few to the row's most"
        says += f"; {OUTSIDE} outside" * any(d.outside for row in self.rows for d in row.dots)
        says += f". {cut}" if (cut := off_the_scale(self._cut(scale))) else ""
        for line in terminal.broken(says, terminal.WIDTH - labels - 2):
            yield terminal.labelled("", labels, line)


def _small_bars(ink: Ink, x: float, y: float) -> None:
    for place, radius in ((-5, 2.0), (0, 5.0), (5, 3.0)):
        ink.sign(Shape.TICK, 0, y + 5 - radius, radius, aside_px=x + place)


def _columns(row: DotRow, scale: Scale, width: int) -> dict[int, tuple[int, int]]:
    """How many readings fall into each column of a terminal: inside, outside."""
    found: dict[int, tuple[int, int]] = {}
    for dots in row.dots:
        at = terminal.column(scale, dots.value_mm, width)
        inside, outside = found.get(at, (0, 0))
        more = (0, dots.count) if dots.outside else (dots.count, 0)
        found[at] = inside + more[0], outside + more[1]
    return found


def _with_zero(line: str, at: int) -> str:
    """The lowest of the dots at 0 as the block's own zero."""
    return line[:at] + ZERO + line[at + 1 :] if line[at] == DOT else line


def _stacked(heaps: dict[int, tuple[int, int]], width: int) -> list[str]:
    """As many lines as the tallest stack has dots; what lies outside on top."""
    tallest = max(map(sum, heaps.values()), default=1)
    return [
        "".join(_in_stack(heaps.get(at, (0, 0)), level) for at in range(width))
        for level in reversed(range(max(tallest, 1)))
    ]


def _in_stack(heap: tuple[int, int], level: int) -> str:
    inside, outside = heap
    return DOT if level < inside else OUTSIDE if level < inside + outside else " "


def _profile(heaps: dict[int, tuple[int, int]], width: int) -> str:
    """One line: how high each column is beside the tallest; outside by its own sign."""
    tallest = max(map(sum, heaps.values()), default=1)
    line = [" "] * width
    for at, (inside, outside) in heaps.items():
        eighths = -(-8 * (inside + outside) // tallest)
        line[at] = OUTSIDE if outside else EIGHTHS[eighths]
    return "".join(line)
