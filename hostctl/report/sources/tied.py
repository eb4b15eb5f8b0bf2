"""What joins readings to the true gap: the ties of a run, and the gaps that were wanted.

With s = 1 where the number grows as the plunger is pressed in, -1 where it falls, one observation
of a tie says that its constant C lies from `low_mm` to `high_mm`, the rounding of its reading
included; the gap of a setting read as r is C - s r.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

Spot = tuple[int, int, int, int]
"""Block, round, trial, attempt of a reading."""


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
    """What a check of the tie said at a point. limit_mm: what its shift is told from 0 by."""

    point: str
    block: int
    shift_mm: float
    limit_mm: float
    moved: bool
    taken_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The gap that a method is meant to set. independent: whether the tie goes by another principle
    than the method; None: nobody says what the method goes by."""

    meant_mm: float
    goes_by: str
    independent: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied:
    """What makes readings gaps, and what gap was wanted. Lengths in mm.

    by: touch, feelers or gauge-block; empty where a file gives gaps as they are.
    target_mm: the gap wanted.  margin_mm: a mean no further off is on target; None: not stated.
    wanted: of each method; one that is missing is meant to set the target.
    beyond_mm: standard uncertainty that repeating the tie can't show; of a file, all of it.
    guides_mm: at a point without a tie of its own, plus or minus so much; None: there is none.
    observed: of all ties, checks among them, in the order taken.  checks: what they said.
    grows_pressed: whether the number grows as the plunger is pressed in.
    doubted: the readings since the last good check, where a later one found that the tie moved.
    """

    by: str
    target_mm: float
    margin_mm: float | None
    wanted: Mapping[str, Wanted]
    beyond_mm: float
    guides_mm: float | None
    observed: tuple[Observed, ...]
    checks: tuple[Check, ...]
    grows_pressed: bool
    doubted: frozenset[Spot]
