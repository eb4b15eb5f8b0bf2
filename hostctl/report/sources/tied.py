"""What joins readings to the true gap: the ties of a run, and the gaps that were wanted.

With s = 1 where the number grows as the plunger is pressed in, -1 where it falls, one observation
of a tie says that its constant C lies from `low_mm` to `high_mm`, the rounding of its reading
included; the gap of a setting read as r is C - s r.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import chain
from operator import attrgetter
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import Readings, is_array

if TYPE_CHECKING:
    from hostctl.metrology.trueness.constant import TieConstant

_DIGITS = 9  # of a mm: finer are only what binary fractions add


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """One observation of a tie: where its constant lies, mm, by this one alone."""

    low_mm: float
    high_mm: float
    point: str
    block: int
    taken_at: datetime | None
    bed_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What a check of the tie said at a point. limit_mm: what its shift is told from 0 by.

    at_trial: how many settings had been read before it.
    """

    point: str
    block: int
    at_trial: int
    shift_mm: float
    limit_mm: float
    moved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The gap that a method is meant to set. independent: whether the tie goes by another principle
    than the method; None: nobody says what the method goes by."""

    meant_mm: float
    independent: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """A tie at one point, for as long as it held there. part: from 1, one more each time that a
    check found that it had moved.  observed: how often."""

    point: str
    part: int
    observed: int
    known: "TieConstant"


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """What the readings of a block rest on. doubted: read between the last good check and one that
    found that the tie had moved, so that it lies anywhere between the old and the new."""

    constant: "TieConstant"
    doubted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied:
    """What makes readings gaps, and what gap was wanted. Lengths in mm.

    by: touch, feelers or gauge-block; empty where a file gives gaps as they are.
    target_mm: the gap wanted.  margin_mm: a mean no further off is on target; None: not stated.
    wanted: of each method; one that is missing is meant to set the target.
    beyond_mm: standard uncertainty that repeating the tie can't show; of a file, all of it.
    guides_mm: at a point without a tie of its own, plus or minus so much; None: there is none.
    slack_mm: how far blades or block, and the feel of them, may be wrong, plus or minus; it is in
    each of `observed`.
    observed: of all ties, checks among them, in the order taken.  checks: what they said.
    constants: what they come to.
    unchecked: settings after the last tie or check, of which nothing says whether it still held.
    settings_bed_c: how warm the bed was at the settings, from and to; None: not known.
    stale_k: a bed so much warmer or colder than at the tie makes it stale.
    """

    by: str
    target_mm: float
    margin_mm: float | None
    wanted: Mapping[str, Wanted]
    beyond_mm: float
    guides_mm: float | None = None
    slack_mm: float = 0.0
    observed: tuple[Observed, ...] = ()
    checks: tuple[Check, ...] = ()
    constants: tuple[Constant, ...] = ()
    unchecked: int = 0
    settings_bed_c: tuple[float, float] | None = None
    stale_k: float | None = None

    def meant_mm(self, method: str) -> float:
        """The gap that a method is meant to set."""
        wanted = self.wanted.get(method)
        return self.target_mm if wanted is None else wanted.meant_mm

    def is_independent(self, method: str) -> bool | None:
        """Whether it goes by another principle than the method; None: nobody says."""
        wanted = self.wanted.get(method)
        return None if wanted is None else wanted.independent

    @property
    def is_stale(self) -> bool:
        """Whether the bed was so much warmer or colder at the settings than at the ties."""
        beds_c = self.ties_bed_c
        if beds_c is None or self.settings_bed_c is None or self.stale_k is None:
            return False
        low_c, high_c = self.settings_bed_c
        return low_c < beds_c[0] - self.stale_k or high_c > beds_c[1] + self.stale_k

    @property
    def ties_bed_c(self) -> tuple[float, float] | None:
        """How warm the bed was at the ties, from and to; None where the machine did not say."""
        beds_c = [one.bed_c for one in self.observed if one.bed_c is not None]
        return (min(beds_c), max(beds_c)) if beds_c else None


def counted_from(zero_mm: float, values: Readings, sign: float) -> Readings:
    """How far below the zero each lies; where `sign` is -1, how far above its negative."""
    if is_array(values):
        import numpy as np

        return np.round(zero_mm - sign * values, _DIGITS)
    return [round(zero_mm - sign * value, _DIGITS) for value in values]


def side_by_side(ties: Sequence[Tied]) -> Tied:
    """Several that agree on what was wanted, as one: each block keeps its own constant."""
    first, *others = ties
    return replace(
        first,
        by=first.by if all(one.by == first.by for one in others) else "several ways",
        wanted={name: wanted for one in ties for name, wanted in one.wanted.items()},
        beyond_mm=max(map(attrgetter("beyond_mm"), ties)),
        guides_mm=max((one.guides_mm for one in ties if one.guides_mm is not None), default=None),
        slack_mm=max(map(attrgetter("slack_mm"), ties)),
        observed=tuple(chain.from_iterable(one.observed for one in ties)),
        checks=tuple(chain.from_iterable(one.checks for one in ties)),
        constants=tuple(chain.from_iterable(one.constants for one in ties)),
        unchecked=sum(one.unchecked for one in ties),
    )


def disagreement(first: Tied, other: Tied) -> str:
    """What of what was wanted they differ in, in words; empty where they agree."""
    if first.target_mm != other.target_mm:
        return f"the gap wanted is {other.target_mm:g} mm, but {first.target_mm:g} mm"
    if first.margin_mm != other.margin_mm:
        margins = [
            "not stated" if one.margin_mm is None else f"±{one.margin_mm:g} mm"
            for one in (other, first)
        ]
        return f"the margin for on target is {margins[0]}, but {margins[1]}"
    for name in first.wanted.keys() & other.wanted.keys():
        mine, theirs = first.wanted[name], other.wanted[name]
        if mine.meant_mm != theirs.meant_mm:
            return f"{name} is meant to set {theirs.meant_mm:g} mm, but {mine.meant_mm:g} mm"
        if mine.independent != theirs.independent:
            return f"{name} goes by the tie's own principle, but not"
    return ""
