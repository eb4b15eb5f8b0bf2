"""Every reading as a dot on a scale of graduations, one row a method, hand or block."""

from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture


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
        """A line a row."""
        return "\n".join(f"{row.label}  {row.note}" for row in self.rows)

    def in_svg(self) -> Picture:
        """Dots stacked where they share a graduation; a bar a graduation where there are many."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """How many readings at each value."""
        return Table(
            columns=(Column(head=""), Column(head="mm", is_number=True), Column(head="n")),
            rows=tuple(
                (row.label, f"{dots.value_mm:g}", str(dots.count))
                for row in self.rows
                for dots in row.dots
            ),
        )
