"""What a comparison of two gauges comes to, typed: nothing is worked out later. Lengths in mm."""

from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet

Sense = Literal["heights", "as-shown"]
"""Heights: both as heights, up positive. As shown: both indicators' numbers as they stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeFound:
    """One of the two. name: as on record."""

    name: str
    resolution_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFound:
    """One pair. place: in the order taken, from 1.  difference_mm: first gauge less second."""

    place: int
    point: str
    first_mm: float
    second_mm: float
    difference_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PointFound:
    """One point. mean: of the differences; the intervals of all points hold together at 95 %.
    spread: standard deviation of the differences, 95 %."""

    point: str
    pairs: int
    mean: Estimate | NotYet
    spread: Estimate | NotYet


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugesResult:
    """Two gauges that read the same places in turn.

    name: of the run.  title: the same with what it was of.  machine: its name.  first: the study's
    gauge.  second: its second gauge.  sense: what is compared.  pairs: in the order taken.
    points: each with its mean difference, first less second.
    mean_mm: of all differences, for the figure alone.  apart: of several points, where the largest
    mean difference less the smallest may lie; None with one point.  left_out: readings whose other
    one is missing.  complete: whether the run came to its end.  notes: what a reader must know of
    the source.
    """

    name: str
    title: str
    machine: str
    first: GaugeFound
    second: GaugeFound
    sense: Sense
    pairs: tuple[PairFound, ...]
    points: tuple[PointFound, ...]
    mean_mm: float
    apart: Interval | None
    left_out: int
    complete: bool
    notes: tuple[str, ...]
