"""Estimates with their intervals, one below the other on one scale."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture

Along = Literal["size", "difference", "ratio"]


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRow:
    """One estimate. value: None where only a bound is known.  low, high: None where that end is
    open.  says: it in words, as the tables have it.  head: heads this row and those below it.
    lesser: what stands beside the others for comparison, as the rig does."""

    label: str
    value: float | None
    low: float | None
    high: float | None
    says: str
    head: str = ""
    lesser: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What the rows are held against. low None: a single line at `high`."""

    low: float | None
    high: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalChart:
    """At least one row. along: what the scale is of: sizes begin at 0, differences have 0 in it,
    and of ratios equal ones are equally long.  unit: of all of them, empty for ratios.
    against: a limit, or a margin around 0 or 1."""

    kind: ClassVar[str] = "intervals"
    rows: tuple[IntervalRow, ...]
    along: Along
    unit: str
    against: Mark | None

    def in_text(self) -> str:
        """A line a row."""
        return "\n".join(f"{row.label}  {row.says}" for row in self.rows)

    def in_svg(self) -> Picture:
        """A bar from low to high, a dot at the value."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each row in words."""
        return Table(
            columns=(Column(head=""), Column(head=self.unit or "ratio", is_number=True)),
            rows=tuple((row.label, row.says) for row in self.rows),
        )
