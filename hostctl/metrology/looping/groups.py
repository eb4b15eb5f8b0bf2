"""A loop's touches by what they share: a point, an hour, a homing; and its failures."""

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet, Readings
from hostctl.metrology.basis.mean_squares import component_interval
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.claims.tolerance import proportion_interval
from hostctl.metrology.components.anova import one_way
from hostctl.metrology.rounded.mean import largest_shift, mean_of_readings
from hostctl.metrology.rounded.rounding import rounded_spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Touches that share something. mean: with its interval.  spread: of one touch, or why not."""

    n: int
    mean: Estimate | NotYet
    spread: Estimate | NotYet


@dataclass(frozen=True, slots=True, kw_only=True)
class HomingScatter:
    """within: the spread of touches between two homings.  homing: what homing adds to it, as a
    standard deviation.  test: whether homing adds anything.  segments: how many there are.
    """

    within: Estimate | NotYet
    homing: Estimate
    test: Significance | NotYet
    segments: int


def group_of(readings: Readings, *, resolution: float, confidence: float = 0.95) -> Group:
    """What touches of one point or one hour say of their mean and spread.

    NotEnough for no number, or one between two graduations.
    """
    n = len(readings)
    if n < 2:
        none = NotYet(reason=Reason(Why.ONE_READING), needs_n=2)
        return Group(n=n, mean=none, spread=none)
    known = mean_of_readings(readings, resolution=resolution)
    mean = Estimate(
        value=known.value,
        interval=known.interval(confidence),
        n=n,
        how="mean, by the likelihood of rounded readings",
        source="Student 1908, Biometrika 6, 1-25",
    )
    spread = rounded_spread([readings], resolution=resolution, confidence=confidence).quoted
    return Group(n=n, mean=mean, spread=spread)


def by_name(
    readings: Readings,
    names: Sequence[Hashable],
    *,
    resolution: float,
    confidence: float = 0.95,
) -> Mapping[Hashable, Group]:
    """Touches by point or by side, in the order in which each first came.

    names: one for each reading; ValueError where they differ in number.
    """
    found: dict[Hashable, list[float]] = {}
    for value, name in zip(readings, names, strict=True):
        found.setdefault(name, []).append(float(value))
    return {
        name: group_of(group, resolution=resolution, confidence=confidence)
        for name, group in found.items()
    }


def by_hour(
    readings: Readings, times_s: Iterable[float], *, resolution: float, confidence: float = 0.95
) -> Mapping[Hashable, Group]:
    """Touches by hours since time 0, numbered from 0; hours without a touch are left out."""
    hours = [int(time // 3600.0) for time in times_s]
    return by_name(readings, hours, resolution=resolution, confidence=confidence)


def homing_scatter(
    segments: Sequence[Readings], *, resolution: float, confidence: float = 0.95
) -> HomingScatter | NotYet:
    """What homing adds to the scatter of touches, as a component of variance.

    segments: touches between two homings, in order. NotYet for fewer than 2 segments or no segment
    with 2 touches; NotEnough for one between two graduations. Where touches scatter too little
    to smooth rounding, it may hide what homing adds: the upper limit allows for that.
    Source: ISO 5725-2:2019, 7.5; limits by Ting and others 1990 (`basis/mean_squares`).
    """
    filled = [segment for segment in segments if len(segment)]
    if len(filled) < 2:
        return NotYet(reason=Reason(Why.TOO_FEW_GROUPS, what="homing", given=len(filled)))
    try:
        table = one_way([np.asarray(segment, dtype=np.float64) for segment in filled])
    except NotEnough as no:
        return NotYet(reason=no.reason)
    sizes = [len(segment) for segment in filled]
    each = (sum(sizes) - sum(n * n for n in sizes) / sum(sizes)) / (len(sizes) - 1)
    between, within = table.between.mean_square, table.within.mean_square
    component = component_interval(between, within, confidence)
    low, high = (math.sqrt(end / each) for end in (component.low, component.high))
    known = rounded_spread(filled, resolution=resolution, confidence=confidence)
    hidden = largest_shift(known.interval.low, resolution)
    return HomingScatter(
        within=known.quoted,
        homing=Estimate(
            value=math.sqrt(max(between.value - within.value, 0.0) / each),
            interval=Interval(low=low, high=high + hidden, confidence=confidence),
            n=len(filled),
            how="component of variance between homings",
            source="ISO 5725-2:2019, 7.5; Ting et al. 1990",
        ),
        test=table.test,
        segments=len(filled),
    )


def failure_share(failures: int, tries: int, confidence: float = 0.95) -> Estimate | NotYet:
    """The share of touches that fail. tries: failed ones and those that gave a reading.

    NotYet without a try; ValueError for more failures than tries. Source: Clopper and Pearson,
    exact; e-Handbook 7.2.4.1.
    """
    if tries == 0:
        return NotYet(reason=Reason(Why.NO_READINGS), needs_n=1)
    return Estimate(
        value=failures / tries,
        interval=proportion_interval(failures, tries, confidence),
        n=tries,
        how="share of tries, exact binomial limits",
        source="Clopper and Pearson 1934; NIST/SEMATECH e-Handbook 7.2.4.1",
    )
