"""What touches follow: time, temperature, and the warm-up that a loop shows."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import numpy as np

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.looping.line import slope_of
from hostctl.metrology.looping.wait import WarmUpAdvice, warm_up_wait
from hostctl.report.kinds.looping.found.spreads import part_found
from hostctl.report.kinds.looping.found.touches import Places, Touches, groups, means
from hostctl.report.kinds.looping.result import DriftFound, PartFound, SpreadFound, WarmthFound

HOUR_S = 3600.0
LEAST_RANGE_K = 1.0
"""A temperature that varied by less tells nothing: controllers and sensors do as much."""

_MOST_HOURS = 24  # rows of a table; of a longer loop several hours are taken together
_LEAST_OF_SPOT = 10


def drift_found(touches: Touches) -> DriftFound:
    """A straight line over time, each point and side about its own mean."""
    over_h = float(touches.at_s[-1]) / HOUR_S
    per_h = _slope(touches, touches.at_s / HOUR_S, "time", 0.0)
    in_all = _times(per_h, over_h) if isinstance(per_h, Estimate) else per_h
    return DriftFound(over_h=over_h, per_h=per_h, in_all=in_all)


def hours_found(touches: Touches) -> tuple[PartFound, ...]:
    """By the hours since the first touch; empty where it took no longer than one."""
    hours = max(math.ceil(touches.at_s[-1] / HOUR_S / _MOST_HOURS), 1)
    which = (touches.at_s // (hours * HOUR_S)).astype(np.intp)
    if not which[-1]:
        return ()
    return tuple(
        part_found(touches, at, f"{hours * which[at[0]]} to {hours * (which[at[0]] + 1)} h")
        for at in groups(which)
    )


def phases_found(touches: Touches) -> tuple[PartFound, ...]:
    """Touches of a cold bed and of a warm one; empty where it was never heated between."""
    if not touches.warm.any():
        return ()
    names = ("cold", "warm")
    return tuple(
        part_found(touches, at, names[int(touches.warm[at[0]])]) for at in groups(touches.warm)
    )


def warmth_found(touches: Touches) -> Iterator[WarmthFound]:
    """Of the bed and of the nozzle, where the machine said it."""
    if np.isfinite(touches.bed_c).any():
        yield _warmth(touches, "bed", touches.bed_c)
    if np.isfinite(touches.nozzle_c).any():
        yield _warmth(touches, "nozzle", touches.nozzle_c)


def warm_up_found(
    touches: Touches, spread: SpreadFound | None, *, blocked: bool
) -> tuple[WarmUpAdvice | NotYet | None, str]:
    """The advice, and the point it goes by: empty where all touches tell it.

    blocked: points come one after the other, so that only the first shows a warm-up.
    """
    first = blocked and len(touches.points) > 1
    point = int(touches.point[0])
    at = np.flatnonzero(touches.point == point) if first else np.arange(len(touches))
    if touches.warm.any() or _homes_between(touches, at):
        return None, ""
    matters = touches.resolution_mm / 2.0
    if spread is not None and isinstance(spread.value, Estimate):
        matters = max(matters, spread.value.value / 2.0)
    advice = warm_up_wait(
        touches.off_mm[at],
        touches.at_s[at],
        matters=matters,
        resolution=touches.resolution_mm,
    )
    return advice, touches.points[point] if first else ""


def _homes_between(touches: Touches, at: Places) -> bool:
    """Whether several touches lie between homings: they then differ by these too."""
    segments = groups(touches.homing[at])
    return 1 < len(segments) < at.size


def _warmth(touches: Touches, what: Literal["bed", "nozzle"], celsius: Array) -> WarmthFound:
    at = np.flatnonzero(np.isfinite(celsius))
    low_c, high_c = float(celsius[at].min()), float(celsius[at].max())
    told = at.size == len(touches)
    varied = high_c - low_c > LEAST_RANGE_K
    lacks = NotYet(reason=Reason(Why.DOES_NOT_VARY, what=f"the {what}'s temperature"))
    per_k = _slope(touches, celsius, f"the {what}'s temperature", LEAST_RANGE_K) if told else lacks
    return WarmthFound(
        what=what,
        n=int(at.size),
        low_c=low_c,
        high_c=high_c,
        per_k=per_k,
        with_time=_likeness(celsius[at], touches.at_s[at]) if varied else None,
    )


def _likeness(one: Array, other: Array) -> float | None:
    """Their correlation; None where one doesn't vary."""
    a, b = one - one.mean(), other - other.mean()
    size = math.sqrt(float(a @ a) * float(b @ b))
    return float(a @ b) / size if size else None


def _slope(touches: Touches, beside: Array, what: str, least_range: float) -> Estimate | NotYet:
    """Within points and sides of 10 touches or more; a mean of each costs a degree of freedom."""
    enough = np.bincount(touches.spot)[touches.spot] >= _LEAST_OF_SPOT
    at = np.flatnonzero(enough)
    if not at.size:
        at = np.flatnonzero(touches.spot == touches.spot[0])
    within = (beside - means(beside, touches.spot)[touches.spot])[at]
    spots = np.unique(touches.spot[at]).size
    found = slope_of(
        touches.off_mm[at],
        within,
        what=what,
        resolution=touches.resolution_mm,
        least_range=least_range,
    )
    if isinstance(found, NotYet):
        return found
    wider = math.sqrt((at.size - 2.0) / (at.size - 1.0 - spots))
    low, high = (found.value + wider * (end - found.value) for end in (found.low, found.high))
    return replace(found, interval=Interval(low=low, high=high, confidence=0.95))


def _times(found: Estimate, factor: float) -> Estimate:
    low, high = factor * found.low, factor * found.high
    return replace(
        found,
        value=factor * found.value,
        interval=Interval(low=low, high=high, confidence=found.interval.confidence),
    )
