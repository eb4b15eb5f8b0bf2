"""Settings in the order in which they were made."""

from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A setting. place: in the order taken, from 1.  kind: which of the chart's kinds, from 0.
    count: so many at this value among those that share a column, where there are very many."""

    place: int
    value_mm: float
    kind: int
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Settings of one block, that follow each other. label: method, hands and point."""

    first: int
    last: int
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderChart:
    """At least one setting. kinds: methods in their hands, each with a mark of its own.
    stretches: blocks; empty where they are mixed or too many.  within_mm: limits about 0; None
    without.  counted_from: what 0 is, in words.  foot: what runs along the foot, as "settings in
    the order made"."""

    kind: ClassVar[str] = "order"
    kinds: tuple[str, ...]
    settings: tuple[Placed, ...]
    stretches: tuple[Stretch, ...]
    step_mm: float
    within_mm: float | None
    counted_from: str
    foot: str

    def in_text(self) -> str:
        """A line a kind."""
        return "\n".join(self.kinds)

    def in_svg(self) -> Picture:
        """Time to the right, deviation upwards."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each setting."""
        return Table(
            columns=(Column(head="place", is_number=True), Column(head="mm", is_number=True)),
            rows=tuple((str(one.place), f"{one.value_mm:g}") for one in self.settings),
        )
