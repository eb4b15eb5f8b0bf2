"""What a view shows beside the prompt: the bed as measured, a live number, a loop's course."""

from dataclasses import dataclass
from typing import Literal

from hostctl.deeds import Direction


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightView:
    """One place of the bed, as a round of levelling measured it."""

    point: str
    """Its name."""
    x_mm: float
    """Where it is."""
    y_mm: float
    """Where it is."""
    height_mm: float
    """About the mean of all, up positive."""
    u_mm: float
    """Standard uncertainty of that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdvisedTurnView:
    """What one screw is to be turned by."""

    screw: str
    """Its name."""
    x_mm: float
    """Where it is."""
    y_mm: float
    """Where it is."""
    turn_deg: float
    """How far; 0: it stays."""
    u_deg: float
    """Standard uncertainty of that."""
    direction: Direction
    """Seen from above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedView:
    """The bed as the last round of levelling found it."""

    round: int
    """Counted from 1."""
    verdict: str
    """`turn`: screws are to be turned; else why none is."""
    tilt_mm: float
    """The fitted plane's highest less its lowest, over all that was measured."""
    tilt_low_mm: float
    """At least that, 95 % sure."""
    tilt_high_mm: float
    """At most that, 95 % sure."""
    within_mm: float | None = None
    """The tilt that is good enough; null: a run of an earlier version doesn't say."""
    heights: tuple[HeightView, ...]
    """Where it was measured."""
    turns: tuple[AdvisedTurnView, ...]
    """What is to be turned."""
    noticed: tuple[str, ...]
    """What was out of the ordinary, each a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveView:
    """What the indicator shows while a screw is turned, and what it is to show."""

    event: Literal["live"] = "live"
    """As in JSON lines, where the same is told."""
    prompt_id: str
    """The prompt it goes with."""
    target_mm: float | None
    """To be seen in the end; null: not known."""
    present_mm: float
    """Now."""
    resolution_mm: float
    """Of both."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceView:
    """All readings of a run that asks nobody, in order, as means of neighbours; each counts from
    the first of its point."""

    means_mm: tuple[float, ...]
    """At most 64; the newest last, which may be of fewer."""
    each: int
    """So many readings make one mean."""
    drift_mm: float | None
    """The last quarter's mean less the first's; null: too few to tell."""
