"""A rig over the weeks: individuals with moving ranges, EWMA, and the spread of each check.

A chart asks one question of each new check: is the rig still the rig that the limits came from?
Sources: ISO 7870-2:2013 for individuals and moving ranges, its constants d2 = 1.128, D4 = 3.267
(from memory); NIST/SEMATECH e-Handbook 6.3.2.2, 6.3.2.4 (EWMA) and 2.2.3 (spread of a check).
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

from hostctl.metrology.basis.distributions import f_quantile
from hostctl.metrology.basis.estimate import NotEnough, NotYet, finite_sample
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.over_time.run_rules import USUAL, Rule, Signal, signals

_D2 = 1.128
_D4 = 3.267
FEW_POINTS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class IndividualsChart:
    """Each check's value against centre ± 3 sigma, sigma from the mean moving range.

    jumps: numbers of the points (from 0) whose step from the one before exceeds
    `moving_range_upper`. rough: whether they come from fewer than FEW_POINTS.
    """

    values: tuple[float, ...]
    centre: float
    sigma: float
    lower: float
    upper: float
    moving_ranges: tuple[float, ...]
    moving_range_mean: float
    moving_range_upper: float
    signals: tuple[Signal, ...]
    jumps: tuple[int, ...]
    rough: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EwmaChart:
    """Exponentially weighted moving averages, one a value, each with its own limits.

    lower, upper: for each point. settled_lower, settled_upper: what they tend to. beyond: numbers
    of the points outside their limits, from 0.
    """

    averages: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    settled_lower: float
    settled_upper: float
    beyond: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadChart:
    """The standard deviation of each check against an upper limit from all of them pooled."""

    pooled_sd: float
    pooled_df: float
    upper: tuple[float, ...]
    beyond: tuple[int, ...]


def individuals_chart(
    values: Sequence[float], *, baseline: int | None = None, rules: Collection[Rule] = USUAL
) -> IndividualsChart | NotYet:
    """Values in order of time, at least 2; limits from the first `baseline` of them, or from all.

    NotYet where these are all alike: rounding hides the rig's spread, and no limit can be drawn.
    """
    points = finite_sample(values, least=2, what="checks")
    base = points[:baseline]
    if len(base) < 2:
        raise NotEnough(Reason(Why.CHECKS_TOO_FEW, given=len(base), least=2))
    ranges = [abs(b - a) for a, b in pairwise(points)]
    mean_range = math.fsum(ranges[: len(base) - 1]) / (len(base) - 1)
    if mean_range == 0:
        return NotYet(reason=Reason(Why.CHECKS_ALIKE, given=len(base)))
    centre, sigma = math.fsum(base) / len(base), mean_range / _D2
    top = _D4 * mean_range
    return IndividualsChart(
        values=tuple(points),
        centre=centre,
        sigma=sigma,
        lower=centre - 3 * sigma,
        upper=centre + 3 * sigma,
        moving_ranges=tuple(ranges),
        moving_range_mean=mean_range,
        moving_range_upper=top,
        signals=signals([(value - centre) / sigma for value in points], rules),
        jumps=tuple(i for i, step in enumerate(ranges, 1) if step > top),
        rough=len(base) < FEW_POINTS,
    )


def ewma_chart(
    values: Sequence[float], *, target: float, sigma: float, weight: float = 0.3, width: float = 3.0
) -> EwmaChart:
    """Averages that let the past fade by `weight`, started at the target: they see slow drifts.

    Limits: target ± width sigma √(weight/(2 - weight) (1 - (1 - weight)^2i)), tending to the
    handbook's. Raises NotEnough without a value, ValueError for a sigma not above 0.
    """
    points = finite_sample(values, least=1, what="checks")
    if not (0 < weight <= 1 and sigma > 0 and math.isfinite(target + sigma)):
        raise ValueError(f"weight {weight}, sigma {sigma}: 0 to 1 and above 0 are needed")
    averages, average = [], target
    for value in points:
        average = weight * value + (1 - weight) * average
        averages.append(average)
    settled = width * sigma * math.sqrt(weight / (2 - weight))
    halves = [settled * math.sqrt(1 - (1 - weight) ** (2 * i)) for i in range(1, len(points) + 1)]
    beyond = [
        i
        for i, (a, half) in enumerate(zip(averages, halves, strict=True))
        if abs(a - target) > half
    ]
    return EwmaChart(
        averages=tuple(averages),
        lower=tuple(target - half for half in halves),
        upper=tuple(target + half for half in halves),
        settled_lower=target - settled,
        settled_upper=target + settled,
        beyond=tuple(beyond),
    )


def spread_chart(
    sds: Sequence[float],
    dfs: Sequence[float],
    *,
    baseline: int | None = None,
    confidence: float = 0.95,
) -> SpreadChart:
    """Standard deviations of the checks on their degrees of freedom; which are too large?

    Upper limit: pooled s √F(confidence; df, pooled df), pooled over the first `baseline` of them
    or all. A rig that grows worse shows here.
    Raises NotEnough for none, ValueError for unequal numbers or a df not above 0.
    """
    spreads = finite_sample(sds, least=1, what="standard deviations of the checks")
    if len(dfs) != len(spreads) or not all(df > 0 for df in dfs):
        raise ValueError("each standard deviation needs degrees of freedom above 0")
    base = list(zip(spreads, dfs, strict=True))[:baseline]
    total = math.fsum(df for _, df in base)
    if not base:
        raise NotEnough(Reason(Why.CHECKS_TOO_FEW, given=0, least=1))
    pooled = math.sqrt(math.fsum(df * s * s for s, df in base) / total)
    upper = [pooled * math.sqrt(f_quantile(confidence, df, total)) for df in dfs]
    return SpreadChart(
        pooled_sd=pooled,
        pooled_df=total,
        upper=tuple(upper),
        beyond=tuple(i for i, (s, top) in enumerate(zip(spreads, upper, strict=True)) if s > top),
    )
