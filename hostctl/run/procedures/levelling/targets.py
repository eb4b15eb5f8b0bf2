"""What the indicator over a screw shows once that screw is turned as advised.

On three screws, or two and a fixed corner, exactly: each tilts the plate about the line through the
other two, so that what the screws before it did is known at its place. On four or more a plate
follows its screws or lies on their springs, and only the end of all turns is known: about so much.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from hostctl.config.parts.level import HANGS_MM
from hostctl.run.procedures.levelling.reach import Reach
from hostctl.run.procedures.levelling.reading import Read

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Point

THREE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """Of one round. raises_mm: at `supports`, of which screws come first, as they are turned."""

    supports: "Sequence[BedScrew | Point]"
    raises_mm: Sequence[float]
    read: Read
    reach: Reach

    def of(self, number: int, point: "Point") -> float | None:
        """For one screw, over a point; None where nothing is shown there, or not for certain."""
        if self.reach.lowest_mm is None or point.name not in self.read.names:
            return None
        height_mm = self.read.mean_mm(point.name) + self._moved_mm(number, point)
        pressed_mm = height_mm + self.reach.press_mm
        if pressed_mm <= HANGS_MM:
            return None
        shown_mm = self.read.zero_mm + self.read.sign * pressed_mm
        step_mm = self.read.resolution_mm
        return round(round(shown_mm / step_mm) * step_mm, 6) if step_mm else shown_mm

    def _moved_mm(self, number: int, point: "Point") -> float:
        """By how much the bed has moved there once this screw is turned."""
        raises = np.array(self.raises_mm)
        if len(self.supports) == THREE:
            raises[number + 1 :] = 0.0
        shares = self._arm(point.x_mm, point.y_mm) @ np.linalg.pinv(self._arms())
        return float(shares @ raises)

    def _arms(self) -> NDArray[np.float64]:
        return np.array([self._arm(one.x_mm, one.y_mm) for one in self.supports])

    @staticmethod
    def _arm(x_mm: float, y_mm: float) -> NDArray[np.float64]:
        return np.array([1.0, x_mm, y_mm])
