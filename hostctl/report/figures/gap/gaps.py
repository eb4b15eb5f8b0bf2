"""Gaps, row by row, and how well the mean of each is known: what a figure of them is given."""

from dataclasses import dataclass
from math import isfinite

from hostctl.report.figures.dots.row import DotRow


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanBar:
    """A mean gap and where it may lie, mm. An end that is not finite is open.

    tie_low, tie_high: what of that the tie makes, which all rows have in common.
    """

    value: float
    low: float
    high: float
    tie_low: float
    tie_high: float

    @property
    def ends(self) -> tuple[float, ...]:
        """All that is known of it, finite."""
        each = (self.value, self.low, self.high, self.tie_low, self.tie_high)
        return tuple(one for one in each if isfinite(one))


@dataclass(frozen=True, slots=True, kw_only=True)
class GapRow:
    """One method in one pair of hands. readings: by their gaps, mm; its note is how it stands to
    the gap wanted.  meant_mm: what it is meant to set.  mean: None where it is not known."""

    readings: DotRow
    meant_mm: float
    mean: MeanBar | None
