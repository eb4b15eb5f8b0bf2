"""A place in the machine."""

from dataclasses import dataclass
from math import hypot


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where the head is, mm; z is the nozzle's height."""

    x_mm: float
    y_mm: float
    z_mm: float

    def towards(self, other: "Spot", part: float) -> "Spot":
        """The spot that lies `part` (0 to 1) of the way to `other`."""
        return Spot(
            x_mm=self.x_mm + (other.x_mm - self.x_mm) * part,
            y_mm=self.y_mm + (other.y_mm - self.y_mm) * part,
            z_mm=self.z_mm + (other.z_mm - self.z_mm) * part,
        )

    def sideways_mm(self, other: "Spot") -> float:
        """How far `other` is away in the plane of the bed."""
        return hypot(other.x_mm - self.x_mm, other.y_mm - self.y_mm)
