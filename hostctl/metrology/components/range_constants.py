"""The mean and standard deviation of a normal sample's range: d2, d3, and d2* for few samples.

Integrals of the law of the range (Tippett 1925, Biometrika 17, 364-387), by Gauss-Legendre over
the range and the trapezium rule over the place.
"""

import math
from functools import lru_cache

import numpy as np

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import NotEnough

_MANY = 15  # subgroups above which the manual takes d2 for d2*


def d2(size: int) -> float:
    """Mean range of `size` standard normal values."""
    return _range_moments(size)[0]


def d3(size: int) -> float:
    """Standard deviation of that range."""
    mean, mean_square = _range_moments(size)
    return math.sqrt(mean_square - mean**2)


def d2_star(size: int, subgroups: int) -> float:
    """Root mean square of the mean range of so many subgroups; d2 above 15 subgroups.

    Source: Duncan 1974, Quality Control and Industrial Statistics, table D3; AIAG MSA, 4th ed.,
    appendix C.
    """
    if subgroups < 1:
        raise NotEnough(f"{subgroups} subgroups given, at least 1 is needed")
    if subgroups > _MANY:
        return d2(size)
    return math.sqrt(d2(size) ** 2 + d3(size) ** 2 / subgroups)


@lru_cache(maxsize=128)
def _range_moments(size: int) -> tuple[float, float]:
    if size < 2:
        raise NotEnough(f"a range needs at least 2 values, {size} given")
    nodes, weights = np.polynomial.legendre.leggauss(80)
    widths = 8.0 * (nodes + 1.0)  # ranges from 0 to 16
    beyond = np.array([1.0 - _chance_of_at_most(width, size) for width in widths])
    return float(8.0 * weights @ beyond), float(8.0 * weights @ (2.0 * widths * beyond))


def _chance_of_at_most(width: float, size: int) -> float:
    """P(range <= width): the lowest at x, the others between x and x + width."""
    step, x = 0.05, np.arange(-8.5, 8.5, 0.05)
    density = np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
    between = _normal_cdf(x + width) - _normal_cdf(x)
    return float(step * size * np.sum(density * between ** (size - 1)))


def _normal_cdf(x: Array) -> Array:
    return np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in x.tolist()])
