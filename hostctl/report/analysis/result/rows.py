"""How settings lie: every one of them, by value."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueSeen:
    """So many settings at one value. from_mm: its distance from where the row counts from.

    doubted: so many of them were read since the last good check of what ties them to the nozzle.
    """

    from_mm: float
    count: int
    outside: bool
    doubted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSeen:
    """The settings of one method in one pair of hands, about what its tolerance is measured from;
    `result` is its place in `results`, from 0.

    merged: whether values are rounded to `step_mm`, since there would be too many to draw. Which
    lie outside is counted before.
    """

    result: int
    values: tuple[ValueSeen, ...]
    step_mm: float
    merged: bool

    @property
    def settings(self) -> int:
        """How many there are."""
        return sum(one.count for one in self.values)

    @property
    def outside(self) -> int:
        """How many of them lie beyond the tolerance."""
        return sum(one.count for one in self.values if one.outside)
