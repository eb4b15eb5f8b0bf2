"""The axes themselves: how straight the x guide is, and how true and tight the z screw."""

from dataclasses import dataclass
from math import pi, sin

from hostctl_simulators.physical.spot import Spot

LEAD_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Guides:
    """All 0: straight, true and without play."""

    size_x_mm: float
    from_x_mm: float = 0.0
    bow_mm: float = 0.0  # the head is so much higher in the middle of the x guide
    lead_error_mm: float = 0.0  # amplitude, once a turn of the z screw
    play_mm: float = 0.0  # on its way up the head is so much lower than it was sent

    def error_mm(self, at: Spot, *, rising: bool = False) -> float:
        """By how much the head is higher than it was sent."""
        bow_mm = self.bow_mm * sin(pi * (at.x_mm - self.from_x_mm) / self.size_x_mm)
        lead_mm = self.lead_error_mm * sin(2 * pi * at.z_mm / LEAD_MM)
        return bow_mm + lead_mm - (self.play_mm if rising else 0.0)
