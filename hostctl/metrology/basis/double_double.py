"""Sums and products carried as a value and its rounding error, twice the digits of a float.

Error-free transformations of Knuth (two-sum) and Dekker (two-product, Veltkamp split); source:
Ogita, Rump, Oishi 2005, SIAM Journal on Scientific Computing 26, 1955-1988, algorithms 3.1 to 3.3.
Values must stay below about 1e300, so that the split does not overflow.
"""

import math

import numpy as np

from hostctl.metrology.basis.centred import Array

_SPLIT = 134217729.0  # 2**27 + 1


def two_sum(a: Array, b: Array) -> tuple[Array, Array]:
    """The rounded sum and what rounding lost, element by element."""
    total = a + b
    part = total - a
    return total, (a - (total - part)) + (b - part)


def two_product(a: Array, b: Array) -> tuple[Array, Array]:
    """The rounded product and what rounding lost, element by element."""
    product = a * b
    a_high, a_low = _split(a)
    b_high, b_low = _split(b)
    lost = a_low * b_low - (((product - a_high * b_high) - a_low * b_high) - a_high * b_low)
    return product, lost


def exact_dot(a: Array, b: Array) -> float:
    """The dot product as if rounded once at the end."""
    product, lost = two_product(a, b)
    return math.fsum([*product.tolist(), *lost.tolist()])


def exact_residuals(y: Array, columns: Array, coefficients: tuple[Array, Array]) -> Array:
    """y less columns @ (high + low coefficients), each rounded about once at the end."""
    total, rest = y, np.zeros_like(y)
    for column, high, low in zip(columns.T, *coefficients, strict=True):
        product, lost = two_product(column, np.full_like(column, high))
        total, error = two_sum(total, -product)
        rest = rest + (error - lost - column * low)
    residuals: Array = total + rest
    return residuals


def _split(a: Array) -> tuple[Array, Array]:
    scaled = _SPLIT * a
    high = scaled - (scaled - a)
    return high, a - high
