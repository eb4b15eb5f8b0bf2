"""Every reading as a dot on a scale of graduations, one row a method, hand or block."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.lettering import cells, in_cells
from hostctl.report.figures.pen.scale import Scale, off_the_scale, readable

MOST_STACKED = 6  # dots above each other in a terminal; beyond, a row is a profile
MOST_LINES = 24  # of all stacks, so that a picture fits a terminal
MOST_TALL = 12  # rows; the profiles of more are one line high
EIGHTHS = " ▁▂▃▄▅▆▇█"
DOT, ZERO, OUTSIDE = "●", "○", "◆"
GROUND, LIMIT = "┄", "┊"  # where nothing was read: below a row, and at the limits


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
        tall = 1 if len(self.rows) > MOST_TALL else 2
        names = [name for row in self.rows for name in (row.label, row.head * (tall > 1))]
        left = terminal.label_width(names)
        scale, width, notes = self._laid_out(left)
        heaps = [_heaps(row, scale, width) for row in self.rows]
        tallest = [max(map(sum, row.values()), default=1) for row in heaps]
        stacked = max(tallest) <= MOST_STACKED and sum(tallest) <= MOST_LINES
        out: list[str] = []
        for row, heap in zip(self.rows, heaps, strict=True):
            drawn = _stacked(heap, width) if stacked else _profile(heap, width, tall)
            if stacked and row.zero:
                drawn[-1] = _with_zero(drawn[-1], terminal.column(scale, 0.0, width))
            out += _beside(self._grounded(drawn, scale), row, left, notes)
        return "\n".join([*out, *self._foot_in_text(scale, left, width, stacked)])

    def in_svg(self) -> Picture:
        """Dots stacked where they share a graduation; a bar a graduation where there are many."""
        from hostctl.report.figures.dot_stacks import Stacks, drawn_rows  # a terminal needs none

        scale = self._scale()
        stacks = Stacks.of(self.rows, self.step_mm, scale)
        cut = off_the_scale(self._cut(scale))
        return drawn_rows(self.rows, stacks, self.within_mm, self.counted_from, cut)

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

    def _laid_out(self, left: int) -> tuple[Scale, int, int]:
        """The scale, how many columns it has, and how many notes have. Notes give way where each
        graduation would not have a column otherwise."""
        scale, said = self._scale(), [row.note for row in self.rows]
        notes = terminal.label_width(said, terminal.room_for_notes(left))
        width = terminal.WIDTH - left - notes - 4
        if (scale.high - scale.low) / self.step_mm > width - 1:
            notes = terminal.label_width(said)
            width = terminal.WIDTH - left - notes - 4
        return *terminal.on_columns(scale, self.step_mm, width), notes

    def _grounded(self, drawn: list[str], scale: Scale) -> list[str]:
        """The lines of a row with what stands behind it: its ground, and the limits."""
        lines = [*drawn[:-1], drawn[-1].replace(" ", GROUND)]
        for end in () if self.within_mm is None else (-self.within_mm, self.within_mm):
            at = terminal.column(scale, end, len(drawn[-1]))
            lines = [
                line[:at] + LIMIT + line[at + 1 :] if line[at] in (" ", GROUND) else line
                for line in lines
            ]
        return lines

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


def _beside(drawn: list[str], row: DotRow, left: int, notes: int) -> Iterator[str]:
    """The lines of a row with its label and note; its head at their top, where it has room."""
    if row.head and (len(drawn) == 1 or cells(row.head) > left):
        yield in_cells(row.head, terminal.WIDTH).rstrip()
        names = ["" for _ in drawn]
    else:
        names = [row.head, *("" for _ in drawn[1:])]
    names[-1] = row.label
    for name, line in zip(names[:-1], drawn[:-1], strict=True):
        yield terminal.labelled(name, left, line)
    yield terminal.labelled(names[-1], left, drawn[-1], in_cells(row.note, notes))


def _heaps(row: DotRow, scale: Scale, width: int) -> dict[int, tuple[int, int]]:
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


def _profile(heaps: dict[int, tuple[int, int]], width: int, tall: int) -> list[str]:
    """So many lines: how high each column is beside the tallest; outside by its own sign."""
    tallest = max(map(sum, heaps.values()), default=1)
    lines = [[" "] * width for _ in range(tall)]
    for at, (inside, outside) in heaps.items():
        eighths = -(-8 * tall * (inside + outside) // tallest)
        for level, line in enumerate(reversed(lines)):
            line[at] = EIGHTHS[min(max(eighths - 8 * level, 0), 8)]
        if outside:
            lines[-1][at] = OUTSIDE
    return ["".join(line) for line in lines]
