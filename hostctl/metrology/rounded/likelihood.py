"""The likelihood of a normal spread when each reading is an interval one resolution wide.

With edges in units of the resolution, tau = 1 / sigma and a = mean / sigma, a reading on graduation
k has the probability

    P = Phi(u) - Phi(l),   l = (k - 1/2) tau - a,   u = (k + 1/2) tau - a.

log P is concave in (a, tau) together (J. Burridge, "Some unimodality properties of likelihoods
derived from grouped data", Biometrika 68, 1981), so the top is unique, and so is the best tau along
the line a = mean tau of one mean. Work grows with the occupied graduations, never with the
readings.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from hostctl.metrology.basis.distributions import mills_ratio
from hostctl.metrology.rounded.law.bin_counts import BinCounts

_SQRT2 = math.sqrt(2.0)
_SQRT_2PI = math.sqrt(2.0 * math.pi)
_LOG_SQRT_2PI = 0.5 * math.log(2.0 * math.pi)
# A step this small leaves an error of its square, which is nothing beside what is sought.
_SMALL_STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Slopes:
    """A log-likelihood at one (a, tau) with its derivatives."""

    value: float
    by_a: float
    by_tau: float
    by_a_a: float
    by_a_tau: float
    by_tau_tau: float


def bin_terms(low: float, high: float) -> tuple[float, float, float, float]:
    """log P of the interval, phi(low) / P, phi(high) / P, and the first less the second."""
    if high <= 0.0:
        log_p, at_high, at_low, difference = bin_terms(-high, -low)
        return log_p, at_low, at_high, -difference
    if low < 0.0:
        p = 0.5 * (math.erf(high / _SQRT2) - math.erf(low / _SQRT2))
        at_low = math.exp(-0.5 * low * low) / (_SQRT_2PI * p)
        at_high = math.exp(-0.5 * high * high) / (_SQRT_2PI * p)
        return math.log(p), at_low, at_high, at_low - at_high
    fall = -0.5 * (high - low) * (high + low)
    ratio = math.exp(fall)
    p_over_phi = mills_ratio(low) - ratio * mills_ratio(high)
    log_p = math.log(p_over_phi) - 0.5 * low * low - _LOG_SQRT_2PI
    return log_p, 1.0 / p_over_phi, ratio / p_over_phi, -math.expm1(fall) / p_over_phi


def block_slopes(block: BinCounts, a: float, tau: float) -> Slopes:
    """The log-likelihood of one block and its derivatives by a and tau."""
    value = by_a = by_tau = by_a_a = by_a_tau = by_tau_tau = 0.0
    for k, count in zip(block.graduations, block.counts, strict=True):
        low = (k - 0.5) * tau - a
        high = low + tau
        log_p, at_low, at_high, difference = bin_terms(low, high)
        total = at_low + at_high
        bend = low * difference - tau * at_high
        curve = bend - difference * difference
        skew = difference * total - high * at_high - low * at_low
        value += count * log_p
        by_a += count * difference
        by_tau += count * (0.5 * total - k * difference)
        by_a_a += count * curve
        by_a_tau -= count * (k * curve + 0.5 * skew)
        by_tau_tau += count * (k * k * curve + k * skew + 0.25 * (bend - total * total))
    return Slopes(value, by_a, by_tau, by_a_a, by_a_tau, by_tau_tau)


class Top(NamedTuple):
    """The highest log-likelihood, and the mean it comes at, in graduations from the centre."""

    value: float
    mean: float


def highest(block: BinCounts) -> Top:
    """The log-likelihood at its top.

    Where all readings are on two graduations side by side, or on one, it is the limit for sigma
    nearing 0, the mean on the edge between, or anywhere in the graduation.
    """
    if block.span <= 1:
        value = math.fsum(count * math.log(count / block.n) for count in block.counts)
        return Top(value, 0.5 * (block.graduations[0] + block.graduations[-1]))
    tau = 1.0 / math.sqrt(block.sum_of_squares / block.n)
    a = block.mean_graduation * tau
    here = block_slopes(block, a, tau)
    for _ in range(100):
        step_a, step_tau, rise = _newton(here)
        if rise < _SMALL_STEP**2:
            break
        share = 1.0
        while tau + share * step_tau <= 0.0 or (
            (there := block_slopes(block, a + share * step_a, tau + share * step_tau)).value
            < here.value
        ):
            share *= 0.5
            if share < _SMALL_STEP:
                return Top(here.value, a / tau)
        a, tau, here = a + share * step_a, tau + share * step_tau, there
    return Top(here.value, a / tau)


def _newton(here: Slopes) -> tuple[float, float, float]:
    """The step to the top of the parabola that fits here, and how high it lies above."""
    area = here.by_a_a * here.by_tau_tau - here.by_a_tau**2
    step_a = (here.by_a_tau * here.by_tau - here.by_tau_tau * here.by_a) / area
    step_tau = (here.by_a_tau * here.by_a - here.by_a_a * here.by_tau) / area
    return step_a, step_tau, 0.5 * (here.by_a * step_a + here.by_tau * step_tau)


def _at_no_spread(block: BinCounts, mean: float) -> float | None:
    """Where the top is at sigma = 0: what it is there; None where it isn't."""
    first, last = block.graduations[0], block.graduations[-1]
    if block.span == 0 and abs(mean - first) < 0.5:
        return 0.0
    if block.span <= 1 and abs(mean - first) == 0.5 and abs(mean - last) == 0.5:
        return -block.n * math.log(2.0)
    return None


def highest_at(block: BinCounts, mean: float) -> float:
    """The log-likelihood at its top for this mean, in graduations from the block's centre.

    A mean on an edge, where sigma nears 0, has as many readings to either side as chance has it.
    """
    without_spread = _at_no_spread(block, mean)
    if without_spread is not None:
        return without_spread
    squares = block.sum_of_squares / block.n + (mean - block.mean_graduation) ** 2
    tau, low, high = 1.0 / math.sqrt(squares), 0.0, math.inf
    for _ in range(200):
        here = block_slopes(block, mean * tau, tau)
        slope = mean * here.by_a + here.by_tau
        curve = mean * (mean * here.by_a_a + 2.0 * here.by_a_tau) + here.by_tau_tau
        low, high = (tau, high) if slope > 0.0 else (low, tau)
        step = -slope / curve if curve < 0.0 else math.copysign(tau, slope)
        if abs(step) < _SMALL_STEP * tau or high - low < _SMALL_STEP * tau:
            break
        after = tau + step
        if not low < after < high or after > 4.0 * tau:
            after = min(0.5 * (low + high), 4.0 * tau)
        tau = after
    return here.value + 0.5 * slope * step
