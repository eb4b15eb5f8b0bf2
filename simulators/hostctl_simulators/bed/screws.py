"""The screws under a bed: where they stand, which way they raise it, their play and their ends."""

from dataclasses import dataclass
from typing import Literal

Direction = Literal["clockwise", "anticlockwise"]  # seen from above


def opposite(direction: Direction) -> Direction:
    """The other way."""
    return "anticlockwise" if direction == "clockwise" else "clockwise"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewKind:
    """A screw under the bed."""

    name: str
    x_mm: float
    y_mm: float
    pitch_mm: float = 0.7  # M4 coarse, ISO 261
    raises: Direction = "clockwise"
    play_deg: float = 0.0  # so far it turns back before anything moves
    travel_mm: float = 4.0  # as delivered it can raise and lower the bed so far


class Screw:
    """One of them, as it was turned."""

    def __init__(self, kind: ScrewKind, delivered_mm: float) -> None:
        self.kind = kind
        self.height_mm = delivered_mm
        self._delivered_mm = delivered_mm
        self._taken_up_deg = kind.play_deg  # it was last turned so that it raised the bed

    @property
    def can_raise_mm(self) -> float:
        """How much further."""
        return self._delivered_mm + self.kind.travel_mm - self.height_mm

    @property
    def can_lower_mm(self) -> float:
        """How much further."""
        return self.height_mm - self._delivered_mm + self.kind.travel_mm

    def turn(self, degrees: float, direction: Direction) -> None:
        """As far as it goes; the play comes first."""
        raises, play_deg = direction == self.kind.raises, self.kind.play_deg
        slack_deg = play_deg - self._taken_up_deg if raises else self._taken_up_deg
        lost_deg = min(degrees, slack_deg)
        self._taken_up_deg += lost_deg if raises else -lost_deg
        way_mm = self.kind.pitch_mm * (degrees - lost_deg) / 360
        if raises:
            self.height_mm += min(way_mm, max(self.can_raise_mm, 0.0))
        else:
            self.height_mm -= min(way_mm, max(self.can_lower_mm, 0.0))
