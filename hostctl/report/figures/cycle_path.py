"""One trial's motions as a path, seen from the side."""

from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Where the head comes to: at so high above z = 0, sideways from the point by so much.
    label: what happens there; empty where it only passes."""

    sideways_mm: float
    z_mm: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclePath:
    """Two stops or more, in the order of the motions."""

    kind: ClassVar[str] = "cycle"
    stops: tuple[Stop, ...]

    def in_text(self) -> str:
        """A line a stop."""
        return "\n".join(f"{stop.z_mm:g} mm  {stop.label}" for stop in self.stops)

    def in_svg(self) -> Picture:
        """Heights to scale as far as they can be; the bed at the foot."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each stop."""
        return Table(
            columns=(Column(head="stop"), Column(head="z", unit="mm", is_number=True)),
            rows=tuple((stop.label, f"{stop.z_mm:g}") for stop in self.stops),
        )
