"""What the checks of a rig say over time. Lengths in mm; points are counted from 0."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Literal

from hostctl.metrology.basis.reason import Reason

What = Literal["spread", "mean", "value"]


class Standing(StrEnum):
    """What can be said of the rig."""

    NO_LIMITS = "no limits"
    TOO_FEW_CHECKS = "too few checks"
    STEADY = "no sign of change"
    SIGNS = "signs of change"


class Shows(StrEnum):
    """By what a change shows."""

    LIMIT = "spread beyond its limit"
    RULE = "run rule"
    STEP = "step"
    DRIFT = "drift of the weighted average"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One rig check.

    sd_mm: as read, its rounding included, so that checks compare; df: its degrees of freedom.
    mean_mm: distance from a datum, None where the check has none.
    """

    name: str  # "run 4"
    at: datetime
    n: int
    sd_mm: float
    df: float
    resolution_mm: float
    mean_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One value in time. name: what to call it; when: its date, empty where none is known."""

    name: str
    when: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Something a steady rig rarely shows, by the points `first` to `last`.

    marked: those of them at which it shows.
    """

    shows: Shows
    first: int
    last: int
    marked: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What single values are held against: centre ± 3 sigma, and the largest step.

    rough: drawn from few checks.
    """

    centre: float
    sigma: float
    lower: float
    upper: float
    moving_range_mean: float
    moving_range_upper: float
    rough: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Values in time with their charts.

    limits: None where none can be drawn; `why_no_limits` then says why, and `needs_checks` from
    how many they could be. weighted_averages: None without limits. spread_limits: of each point,
    from the spreads pooled; None where the values are no spreads.
    """

    what: What
    points: tuple[Point, ...]
    limits: Limits | None
    why_no_limits: Reason | None
    needs_checks: int | None
    weighted_averages: tuple[float, ...] | None
    spread_limits: tuple[float, ...] | None
    pooled_sd: float | None
    pooled_df: float | None
    signs: tuple[Sign, ...]

    @property
    def wild(self) -> frozenset[int]:
        """The points at which a sign shows."""
        return frozenset(index for sign in self.signs for index in sign.marked)


@dataclass(frozen=True, slots=True, kw_only=True)
class BelowGraduation:
    """Checks whose spread lies below one graduation of `resolution_mm`."""

    checks: int
    resolution_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """A rig over time, from its checks or from values that somebody kept.

    subject: what it is about, as "the rig of bench". checks: each rig check; none where values were
    given. left_out: checks broken off or without a spread. series: spreads, means or given values
    in time, with their charts. resolutions_differ: not all checks were read to the same.
    below_graduation: how many have a spread below one graduation, where half of them or more do.
    own_zeros: the checks have no datum, so that their means say nothing.
    """

    subject: str
    standing: Standing
    checks: tuple[Check, ...]
    left_out: tuple[str, ...]
    series: tuple[Series, ...]
    resolutions_differ: bool
    below_graduation: BelowGraduation | None
    own_zeros: bool
