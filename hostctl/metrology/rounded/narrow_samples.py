"""The chance of a sample no wider than one or two graduations: what discreteness does to limits.

With the true mean anywhere in a graduation, all alike, n normal readings with sigma in resolutions
fall within s neighbouring graduations with the chance J(s) - J(s - 1), where

    J(s) = integral of (Phi((x + s) / sigma) - Phi(x / sigma))^n dx

over all x: J(s) counts each such sample once for every window of s graduations that holds it.
"""

import math
from functools import lru_cache

from hostctl.metrology.basis.distributions import normal_cdf

_STEP = 0.1  # in sigmas; the trapezium rule on a smooth bell gains all its digits at once
_REACH = 8.5


def chance_within(graduations: int, sizes: tuple[int, ...], sigma: float) -> float:
    """The chance that each block of so many readings falls within `graduations`, 1 or 2."""
    chance = 1.0
    for n in sizes:
        wide = _windows(graduations, n, sigma)
        chance *= wide - _windows(graduations - 1, n, sigma) if graduations > 1 else wide
    return chance


@lru_cache(maxsize=4096)
def _windows(graduations: int, n: int, sigma: float) -> float:
    half = 0.5 * graduations / sigma
    steps = math.ceil((half + _REACH) / _STEP)
    total = 0.5 * _inside(0.0, half) ** n
    total += sum(_inside(_STEP * k, half) ** n for k in range(1, steps + 1))
    return 2.0 * _STEP * sigma * total


def _inside(z: float, half: float) -> float:
    return normal_cdf(half - z) - normal_cdf(-half - z)


@lru_cache(maxsize=1024)
def two_graduation_bound(sizes: tuple[int, ...], missed: float) -> float:
    """The sigma at which each block falls within two graduations with the chance `missed`."""
    low, high = 0.01, 1.0
    while chance_within(2, sizes, high) > missed:
        low, high = high, 2.0 * high
    while high - low > 1e-10 * high:
        middle = 0.5 * (low + high)
        is_likely = chance_within(2, sizes, middle) > missed
        low, high = (middle, high) if is_likely else (low, middle)
    return high
