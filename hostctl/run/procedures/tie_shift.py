"""Whether a later tie still says the same as an earlier one. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from statistics import fmean

Interval = tuple[float, float]
"""Where a tie's constant lies by one observation; see `hostctl.records.TieContact`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far a later tie lies from an earlier one, and what ties that did not move stay within in
    95 % of checks."""

    shift_mm: float
    limit_mm: float

    @property
    def moved(self) -> bool:
        """Whether the tie does not hold any more."""
        return abs(self.shift_mm) > self.limit_mm


def shift_between(before: Sequence[Interval], after: Sequence[Interval]) -> Shift | None:
    """From observations of one tie to those of another; None where they are too few to tell.

    What repeating can't show is alike in both and drops out; so does where rounding puts either, as
    long as nothing moved. Student's test of two means, with the scatter common to both, which is
    taken as no less than width / sqrt(8), that of an arcsine law on an interval (JCGM 101:2008,
    6.4.6; from memory): touches alike, at an edge, may all come out on its other side the next
    time. Nor is the limit below half a width, within which rounding can hide twice of it.
    False alarms come in at most 5 % of checks, and a tie that moved by more than twice the limit is
    noticed in at least 95 % (tests/data/trueness.md).
    """
    df = len(before) + len(after) - 2
    if not before or not after or df < 1:
        return None
    groups = [[0.5 * (low + high) for low, high in each] for each in (before, after)]
    means = [fmean(group) for group in groups]
    squares = fsum(
        (x - mean) ** 2 for group, mean in zip(groups, means, strict=True) for x in group
    )
    width_mm = fmean(high - low for low, high in (*before, *after))
    sd_mm = max(sqrt(squares / df), width_mm / sqrt(8))
    error_mm = sd_mm * sqrt(1 / len(before) + 1 / len(after))
    limit_mm = max(_t_95(df) * error_mm, 0.5 * width_mm)
    return Shift(shift_mm=means[1] - means[0], limit_mm=limit_mm)


_T_95 = 12.7062, 4.3027, 3.1824, 2.7764
"""Of 1 to 4 degrees of freedom: any handbook's table."""


def _t_95(df: int) -> float:
    """The 97.5 % point of Student's t: from 5 degrees of freedom on an expansion about the normal
    one, within 0.2 %. Source: Abramowitz and Stegun 1964, 26.7.5 (from memory)."""
    if df <= len(_T_95):
        return _T_95[df - 1]
    x = 1.959964
    terms = (
        x,
        (x**3 + x) / (4 * df),
        (5 * x**5 + 16 * x**3 + 3 * x) / (96 * df**2),
        (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / (384 * df**3),
    )
    return sum(terms)
