"""Parts of a whole, one bar a row."""

from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBar:
    """One whole. shares: of each part, 0 to 1, as many as the parts."""

    label: str
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBars:
    """At least one bar. parts: their names, told apart by weight of ink and written beside."""

    kind: ClassVar[str] = "shares"
    parts: tuple[str, ...]
    bars: tuple[ShareBar, ...]

    def in_text(self) -> str:
        """A line a bar."""
        return "\n".join(bar.label for bar in self.bars)

    def in_svg(self) -> Picture:
        """Each bar as wide as the whole."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each share in per cent."""
        return Table(
            columns=(
                Column(head=""),
                *(Column(head=part, unit="%", is_number=True) for part in self.parts),
            ),
            rows=tuple(
                (bar.label, *(f"{100 * share:.0f}" for share in bar.shares)) for bar in self.bars
            ),
        )
