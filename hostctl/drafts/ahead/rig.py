"""A rig, as far as its last check makes it known."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RigKnown:
    """What a rig check found of the rig alone.

    run: its number. sd_mm: the spread; None where the graduation hides it, so that it has an upper
    limit alone. upper_mm: the upper end of its 95 % interval. trials: readings that count; df: the
    degrees of freedom that they leave.
    """

    run: int
    sd_mm: float | None
    upper_mm: float
    trials: int
    df: float
    resolution_mm: float

    @property
    def spread_mm(self) -> float:
        """The spread that is reckoned with: that found, else its upper limit."""
        return self.upper_mm if self.sd_mm is None else self.sd_mm

    @property
    def hides_below_mm(self) -> float:
        """A method with a smaller spread of its own is never told from the rig, however often it
        is tried: what is read must scatter more than the rig at most does."""
        return math.sqrt(self.upper_mm**2 - (self.sd_mm or 0.0) ** 2)
