"""Every reading as a dot on a scale of graduations, one row a method, hand or block."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures.dots.in_text import (
    DOT,
    OUTSIDE,
    beside,
    can_be_stacked,
    grounded,
    heaps_of,
    height_of_profiles,
    profile,
    stacked_lines,
)
from hostctl.report.figures.dots.row import DotRow
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.scale import Scale, off_the_scale, readable

ZERO = "○"


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
        tall = height_of_profiles(len(self.rows))
        names = [name for row in self.rows for name in (row.label, row.head * (tall > 1))]
        left = terminal.label_width(names)
        scale, width, notes = self._laid_out(left)
        heaps = [heaps_of(row.dots, scale, width) for row in self.rows]
        stacked = can_be_stacked(heaps)
        out: list[str] = []
        for row, heap in zip(self.rows, heaps, strict=True):
            drawn = stacked_lines(heap, width) if stacked else profile(heap, width, tall)
            if stacked and row.zero:
                drawn[-1] = _with_zero(drawn[-1], terminal.column(scale, 0.0, width))
            out += beside(grounded(drawn, scale, self._limits()), row, left, notes)
        return "\n".join([*out, *self._foot_in_text(scale, left, width, stacked)])

    def in_svg(self) -> Picture:
        """Dots stacked where they share a graduation; a bar a graduation where there are many."""
        from hostctl.report.figures.dots.stacks import Stacks, drawn_rows  # a terminal needs none

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
        averages = [row.average_mm for row in self.rows if row.average_mm is not None]
        low, high = readable(values or [(0.0, 1)], (0.0, *self._limits(), *averages), self.step_mm)
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

    def _limits(self) -> tuple[float, ...]:
        return () if self.within_mm is None else (-self.within_mm, self.within_mm)

    def _foot_in_text(self, scale: Scale, labels: int, width: int, stacked: bool) -> Iterator[str]:
        ends = self._limits()
        signed = zip("−+", ends, strict=False)
        marks = [(0.0, "0"), *((end, sign + short_number(abs(end))) for sign, end in signed)]
        marks += scale.levels(signed=True)
        for line in terminal.foot(scale, width, marks, (ends[0], ends[1]) if ends else None):
            yield terminal.labelled("", labels, line)
        says = f"mm from {self.counted_from}"
        says += "" if stacked else "; ▁ to █: from few to the row's most"
        says += f"; {OUTSIDE} outside" * any(d.outside for row in self.rows for d in row.dots)
        says += f". {cut}" if (cut := off_the_scale(self._cut(scale))) else ""
        for line in terminal.broken(says, terminal.WIDTH - labels - 2):
            yield terminal.labelled("", labels, line)


def _with_zero(line: str, at: int) -> str:
    """The lowest of the dots at 0 as the block's own zero."""
    return line[:at] + ZERO + line[at + 1 :] if line[at] == DOT else line
