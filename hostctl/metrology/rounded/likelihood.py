"""The likelihood of a normal spread when each reading is an interval one resolution wide.

With edges in units of the resolution, tau = 1 / sigma and a = mean / sigma, a reading on graduation
k has the probability

    P = Phi(u) - Phi(l),   l = (k - 1/2) tau - a,   u = (k + 1/2) tau - a.

log P is concave in (a, tau) together (J. Burridge, "Some unimodality properties of likelihoods
derived from grouped data", Biometrika 68, 1981), so the top is unique, each profile over the means
is concave in tau, and Newton's method kept in a bracket finds both. Work grows with the occupied
graduations, never with the readings.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from hostctl.metrology.rounded.law.bin_counts import BinCounts

_SQRT2 = math.sqrt(2.0)
_SQRT_HALF_PI = math.sqrt(0.5 * math.pi)
_SQRT_2PI = math.sqrt(2.0 * math.pi)
_LOG_SQRT_2PI = 0.5 * math.log(2.0 * math.pi)
# A step this small leaves an error of its square: the last digits of a float.
_SMALL_STEP = 1e-7


@dataclass(frozen=True, slots=True)
class Slopes:
    """A log-likelihood at one (a, tau) with its derivatives."""

    value: float
    by_a: float
    by_tau: float
    by_a_a: float
    by_a_tau: float
    by_tau_tau: float


@dataclass(frozen=True, slots=True)
class Profile:
    """The log-likelihood at one tau, freed of the means, with two derivatives by tau."""

    value: float
    slope: float
    curvature: float


class Likelihood(Protocol):
    """A likelihood of sigma alone."""

    def at(self, tau: float) -> Profile:
        """The log-likelihood at sigma = 1 / tau resolutions."""
        ...


def _mills(x: float) -> float:
    """(1 - Phi(x)) / phi(x) for x >= 0; DLMF 7.12.1 where erfc would underflow."""
    if x < 25.0:
        return math.erfc(x / _SQRT2) * math.exp(0.5 * x * x) * _SQRT_HALF_PI
    y = 1.0 / (x * x)
    return (1.0 - y * (1.0 - 3.0 * y * (1.0 - 5.0 * y * (1.0 - 7.0 * y * (1.0 - 9.0 * y))))) / x


def _bin_terms(low: float, high: float) -> tuple[float, float, float, float]:
    """log P of the interval, phi(low) / P, phi(high) / P, and the first less the second."""
    if high <= 0.0:
        log_p, at_high, at_low, difference = _bin_terms(-high, -low)
        return log_p, at_low, at_high, -difference
    if low < 0.0:
        p = 0.5 * (math.erf(high / _SQRT2) - math.erf(low / _SQRT2))
        at_low = math.exp(-0.5 * low * low) / (_SQRT_2PI * p)
        at_high = math.exp(-0.5 * high * high) / (_SQRT_2PI * p)
        return math.log(p), at_low, at_high, at_low - at_high
    fall = -0.5 * (high - low) * (high + low)
    ratio = math.exp(fall)
    p_over_phi = _mills(low) - ratio * _mills(high)
    log_p = math.log(p_over_phi) - 0.5 * low * low - _LOG_SQRT_2PI
    return log_p, 1.0 / p_over_phi, ratio / p_over_phi, -math.expm1(fall) / p_over_phi


def block_slopes(block: BinCounts, a: float, tau: float) -> Slopes:
    """The log-likelihood of one block and its derivatives by a and tau."""
    value = by_a = by_tau = by_a_a = by_a_tau = by_tau_tau = 0.0
    for k, count in zip(block.graduations, block.counts, strict=True):
        low = (k - 0.5) * tau - a
        high = low + tau
        log_p, at_low, at_high, difference = _bin_terms(low, high)
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


class SpreadLikelihood:
    """The profile over the means of some blocks with one common sigma.

    paid: how many degrees of freedom the means are charged for, each a factor of sigma: none for
    the plain profile, one a block so that far above a resolution n - B of them are left.
    Keeps each block's last mean, from which the search at the next tau starts.
    """

    def __init__(self, blocks: Sequence[BinCounts], *, paid: int = 0) -> None:
        self._blocks = distinct_blocks(blocks)
        self._paid = paid
        self._means = [block.mean_graduation for block, _ in self._blocks]

    def at(self, tau: float) -> Profile:
        """The profile log-likelihood at sigma = 1 / tau resolutions."""
        value = -self._paid * math.log(tau)
        slope = -self._paid / tau
        curvature = self._paid / (tau * tau)
        for index, (block, times) in enumerate(self._blocks):
            top, step = best_mean(block, self._means[index] * tau, tau)
            self._means[index] = step[0] / tau
            value += times * (top.value + 0.5 * top.by_a * step[1])
            slope += times * (top.by_tau + top.by_a_tau * step[1])
            curvature += times * top.by_tau_tau
            if top.by_a_a < 0.0:
                curvature -= times * top.by_a_tau**2 / top.by_a_a
        return Profile(value, slope, curvature)


def distinct_blocks(blocks: Sequence[BinCounts]) -> list[tuple[BinCounts, int]]:
    """Each shape of block once, wherever it lies, with how often it comes: they are soon few."""
    times = Counter((block.graduations, block.counts) for block in blocks)
    shapes = {(block.graduations, block.counts): block for block in blocks}
    return [(shapes[shape], often) for shape, often in times.items()]


def best_mean(block: BinCounts, a: float, tau: float) -> tuple[Slopes, tuple[float, float]]:
    """The slopes beside the best a, the best a, and the small step that leads there."""
    low = (block.graduations[0] - 0.5) * tau
    high = (block.graduations[-1] + 0.5) * tau
    if not block.span:
        return block_slopes(block, block.graduations[0] * tau, tau), (
            block.graduations[0] * tau,
            0.0,
        )
    for _ in range(200):
        here = block_slopes(block, a, tau)
        low, high = (a, high) if here.by_a > 0.0 else (low, a)
        step = -here.by_a / here.by_a_a if here.by_a_a < 0.0 else math.inf
        if abs(step) < _SMALL_STEP or high - low < _SMALL_STEP:
            break
        a = a + step if low < a + step < high else 0.5 * (low + high)
    return here, (a + step, step)


def top_of(likelihood: Likelihood, tau: float) -> tuple[float, float]:
    """The tau at which the profile is largest, and how large; `tau` is a first guess."""
    low, high = 0.0, math.inf
    for _ in range(200):
        here = likelihood.at(tau)
        low, high = (tau, high) if here.slope > 0.0 else (low, tau)
        step = -here.slope / here.curvature if here.curvature < 0.0 else math.inf
        if abs(step) < _SMALL_STEP * tau or high - low < _SMALL_STEP * tau:
            break
        after = tau + step
        if not low < after < high or after > 4.0 * tau:
            after = min(0.5 * (low + high), 4.0 * tau)
        tau = after
    return tau + step, here.value + 0.5 * here.slope * step


def tau_at_deviance(
    likelihood: Likelihood,
    top: float,
    deviance: float,
    tau: float,
    *,
    above: float = 0.0,
    below: float = math.inf,
) -> float:
    """The tau at which the profile has fallen by deviance / 2 from the top, by a guess.

    Newton on the root of the deviance against log tau, which is close to straight.
    above: the best tau, when the lower limit of sigma is wanted.  below: the same for the upper.
    """
    low, high = above, below
    upward = above > 0.0
    for _ in range(200):
        here = likelihood.at(tau)
        fallen = math.sqrt(max(2.0 * (top - here.value), 0.0))
        beyond = fallen > math.sqrt(deviance)
        low, high = (low, tau) if beyond == upward else (tau, high)
        slope = -here.slope * tau
        step = (math.sqrt(deviance) - fallen) * fallen / slope if slope and fallen else math.inf
        if abs(step) < _SMALL_STEP or high - low < _SMALL_STEP * tau:
            return tau * math.exp(step) if abs(step) < 1.0 else tau
        after = tau * math.exp(step) if abs(step) < 3.0 else math.inf
        if not low < after < high:
            after = 2.0 * tau if math.isinf(high) else 0.5 * (low + high)
        tau = after
    return tau
