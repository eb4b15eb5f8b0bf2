"""What touches follow: time, temperature, and the warm-up that a loop shows."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.looping.line import slope_of
from hostctl.metrology.looping.wait import WarmUpAdvice, warm_up_wait
from hostctl.metrology.rounded.mean import largest_shift
from hostctl.report.kinds.looping.found.spreads import part_found
from hostctl.report.kinds.looping.found.touches import Places, Touches, groups, means, since
from hostctl.report.kinds.looping.result import DriftFound, PartFound, SpreadFound, WarmthFound, Way

HOUR_S = 3600.0
LEAST_RANGE_K = 1.0
"""A temperature that varied by less tells nothing: controllers and sensors do as much."""

_MOST_HOURS = 24  # rows of a table; of a longer loop several hours are taken together
_LEAST_STRETCHES = 10
_LEAST_OF_GROUP = 3


def least_sigma(spread: SpreadFound | None) -> float:
    """How much a touch surely scatters, mm."""
    return spread.interval.low if spread is not None else 0.0


def drift_found(touches: Touches, least_sigma: float) -> DriftFound:
    """A straight line over time, each point and side about its own mean.

    Homing, or what was done while it stood still, shifts all touches after it alike, so that these
    are no independent signs of a drift: of 10 such stretches or more the means are followed, of
    fewer what lies within them.
    """
    over_h = float(touches.at_s[-1] - touches.at_s[0]) / HOUR_S
    per_h = _slope(touches, touches.at_s / HOUR_S, least_sigma, what="time", least_range=0.0)
    in_all = _times(per_h, over_h) if isinstance(per_h, Estimate) else per_h
    return DriftFound(over_h=over_h, by=way_of(touches), per_h=per_h, in_all=in_all)


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


def warmth_found(touches: Touches, least_sigma: float) -> Iterator[WarmthFound]:
    """Of the bed and of the nozzle, where the machine said it."""
    if np.isfinite(touches.bed_c).any():
        yield _warmth(touches, "bed", touches.bed_c, least_sigma)
    if np.isfinite(touches.nozzle_c).any():
        yield _warmth(touches, "nozzle", touches.nozzle_c, least_sigma)


def settled_found(
    touches: Touches, warm_up: "WarmUp | None", least_sigma: float
) -> DriftFound | None:
    """The drift that is left after a warm-up; None where none shows."""
    if warm_up is None or isinstance(warm_up.advice, NotYet) or not warm_up.advice.touches:
        return None
    return drift_found(since(touches, warm_up.advice.wait_s), least_sigma)


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """The advice, by so many touches, at a point, or at all where that is empty."""

    advice: WarmUpAdvice | NotYet
    of: int
    at: str


def warm_up_found(touches: Touches, spread: SpreadFound | None, *, blocked: bool) -> WarmUp | None:
    """By the first stretch, where not each touch is homed for; None where the bed was heated.

    blocked: points come one after the other, so that only the first shows a warm-up.
    """
    if touches.warm.any():
        return None
    at = np.arange(len(touches))
    if way_of(touches) != "touches":
        at = at[touches.stretch == touches.stretch[0]]
    first = blocked and np.unique(touches.point[at]).size > 1
    if first:
        at = at[touches.point[at] == touches.point[0]]
    matters = touches.resolution_mm / 2.0
    if spread is not None and isinstance(spread.value, Estimate):
        matters = max(matters, spread.value.value / 2.0)
    advice = warm_up_wait(
        touches.off_mm[at],
        touches.at_s[at],
        matters=matters,
        resolution=touches.resolution_mm,
    )
    name = touches.points[int(touches.point[0])]
    return WarmUp(advice=advice, of=int(at.size), at=name if first else "")


def way_of(touches: Touches) -> Way:
    """By what a drift is followed."""
    stretches = int(touches.stretch.max()) + 1
    if stretches in (1, len(touches)):
        return "touches"
    enough = stretches >= _LEAST_STRETCHES
    return "from-stretch-to-stretch" if enough else "within-stretches"


def _warmth(
    touches: Touches, what: Literal["bed", "nozzle"], celsius: Array, least_sigma: float
) -> WarmthFound:
    at = np.flatnonzero(np.isfinite(celsius))
    low_c, high_c = float(celsius[at].min()), float(celsius[at].max())
    told = at.size == len(touches)
    varied = high_c - low_c > LEAST_RANGE_K
    called = f"the {what}'s temperature"
    per_k: Estimate | NotYet = NotYet(reason=Reason(Why.DOES_NOT_VARY, what=called))
    if told:
        per_k = _slope(touches, celsius, least_sigma, what=called, least_range=LEAST_RANGE_K)
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


def _slope(
    touches: Touches, beside: Array, least_sigma: float, *, what: str, least_range: float
) -> Estimate | NotYet:
    """How touches follow what varied beside them; see `drift_found` for stretches.

    least_sigma: of a touch; where it is small, rounding may hide what goes along.
    """
    match way_of(touches):
        case "touches":
            found = _within(touches, touches.spot, beside, what, least_range)
        case "within-stretches":
            found = _within(touches, touches.spot_of_stretch, beside, what, least_range)
        case "from-stretch-to-stretch":
            less = beside - means(beside, touches.spot)[touches.spot]
            found = slope_of(
                means(touches.off_mm, touches.stretch),
                means(less, touches.stretch),
                what=what,
                resolution=touches.resolution_mm,
                least_range=least_range,
            )
    if isinstance(found, NotYet):
        return found
    # a shift e by rounding moves a slope over a range L by 3 e / L at most
    hidden = 3.0 * largest_shift(least_sigma, touches.resolution_mm) / float(np.ptp(beside))
    return _with_limits(found, found.low - hidden, found.high + hidden)


def _within(
    touches: Touches, of: Places, beside: Array, what: str, least_range: float
) -> Estimate | NotYet:
    """Within groups of 3 touches or more; the mean of each costs a degree of freedom."""
    enough = np.bincount(of)[of] >= _LEAST_OF_GROUP
    at = np.flatnonzero(enough if enough.any() else of == of[0])
    groups_in = np.unique(of[at]).size
    found = slope_of(
        (touches.value_mm - means(touches.value_mm, of)[of])[at],
        (beside - means(beside, of)[of])[at],
        what=what,
        resolution=touches.resolution_mm,
        least_range=least_range,
    )
    if isinstance(found, NotYet):
        return found
    wider = math.sqrt((at.size - 2.0) / (at.size - 1.0 - groups_in))
    low, high = (found.value + wider * (end - found.value) for end in (found.low, found.high))
    return _with_limits(found, low, high)


def _with_limits(found: Estimate, low: float, high: float) -> Estimate:
    confidence = found.interval.confidence
    return replace(found, interval=Interval(low=low, high=high, confidence=confidence))


def _times(found: Estimate, factor: float) -> Estimate:
    changed = replace(found, value=factor * found.value)
    return _with_limits(changed, factor * found.low, factor * found.high)
