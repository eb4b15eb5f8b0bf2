"""Least squares with an intercept, right to the last digits the data allow.

The columns are shifted near their means and scaled before the factorisation, which removes most of
the ill-conditioning that calendar years and large levels bring; the solution is then refined with
residuals taken in twice the working precision (Bjorck 1967, BIT 7, 257-278), and the intercept
shifted back with exact products.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import (
    Array,
    exact_mean,
    exact_sum,
    finite_array,
    sum_of_squares,
)
from hostctl.metrology.basis.distributions import student_t_quantile, student_t_sf
from hostctl.metrology.basis.double_double import exact_dot, exact_residuals, two_product
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough

_ROUNDS = 3
_SINGULAR = 1e-12  # smallest pivot of the scaled columns, as a share of the largest
_SOURCE = "JCGM 100:2008, H.3; checked against NIST StRD"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A fitted linear model: the intercept first, then one coefficient a column."""

    coefficients: tuple[float, ...]
    standard_errors: tuple[float, ...]
    residuals: Array
    residual_sd: float
    r_squared: float
    df: int

    def coefficient(self, place: int, confidence: float = 0.95) -> Estimate:
        """One coefficient with its t interval; place 0 is the intercept."""
        value = self.coefficients[place]
        reach = self.standard_errors[place] * student_t_quantile((1 + confidence) / 2, self.df)
        return Estimate(
            value=value,
            interval=Interval(low=value - reach, high=value + reach, confidence=confidence),
            n=self.residuals.size,
            how="least squares",
            source=_SOURCE,
        )

    def p_value(self, place: int) -> float:
        """Two-sided p value that this coefficient is zero; 1 where both it and its error are."""
        value, error = self.coefficients[place], self.standard_errors[place]
        if error == 0.0:
            return 0.0 if value else 1.0
        return min(1.0, 2.0 * student_t_sf(abs(value / error), self.df))


def least_squares(y: npt.ArrayLike, *columns: npt.ArrayLike) -> Fit:
    """Fit y = b0 + b1 x1 + ... by least squares.

    Raises NotEnough for columns of differing length, too few rows (at least the number of
    coefficients + 1), a value that is not a number, a column that never changes, or columns that
    repeat one another.
    """
    least = len(columns) + 2
    response = finite_array(y, least=least, what="regression")
    xs = [finite_array(x, least=least, what="regression") for x in columns]
    if any(x.size != response.size for x in xs):
        raise NotEnough("regression: the columns differ in length")
    return _fit(response, np.column_stack(xs))


def _fit(y: Array, x: Array) -> Fit:
    centres = np.array([exact_mean(column) for column in x.T])
    level = exact_mean(y)
    shifted = x - centres
    scales = np.sqrt(np.sum(np.square(shifted), axis=0))
    if np.any(scales == 0.0):
        raise NotEnough("regression: a column never changes, so it explains nothing")
    # powers of two scale without rounding
    scales = np.exp2(np.round(np.log2(scales)))
    design = np.column_stack([np.ones(y.size), shifted / scales])
    solution, inverse = _solve(design, y - level)
    residuals = exact_residuals(y - level, design, solution)
    df = y.size - design.shape[1]
    residual_ss = exact_dot(residuals, residuals)
    residual_sd = math.sqrt(residual_ss / df)
    back = _back_to_raw(centres, scales)
    total_ss = sum_of_squares(y)
    return Fit(
        coefficients=_raw_coefficients(solution, centres, scales, level),
        standard_errors=tuple((residual_sd * np.linalg.norm(back @ inverse, axis=1)).tolist()),
        residuals=residuals,
        residual_sd=residual_sd,
        r_squared=1.0 - residual_ss / total_ss if total_ss else 0.0,
        df=df,
    )


def _solve(design: Array, y: Array) -> tuple[tuple[Array, Array], Array]:
    """The solution as high and low parts, and the inverse of the triangular factor."""
    q, r = np.linalg.qr(design)
    pivots = np.abs(np.diag(r))
    if pivots[1:].min(initial=math.inf) < _SINGULAR * pivots[1:].max(initial=0.0):
        raise NotEnough("regression: one column is made up of others, so they can't be told apart")
    inverse = np.linalg.inv(r)
    high = inverse @ (q.T @ y)
    low = np.zeros_like(high)
    for _ in range(_ROUNDS):
        residuals = exact_residuals(y, design, (high, low))
        gradient = np.array([exact_dot(column, residuals) for column in design.T])
        step = inverse @ (inverse.T @ gradient)
        total = high + (low + step)
        low = (low + step) - (total - high)
        high = total
    return (high, low), inverse


def _back_to_raw(centres: Array, scales: Array) -> Array:
    """The matrix that takes shifted and scaled coefficients to those of the columns as given."""
    back = np.diag(np.concatenate([[1.0], 1.0 / scales]))
    back[0, 1:] = -centres / scales
    return back


def _raw_coefficients(
    solution: tuple[Array, Array], centres: Array, scales: Array, level: float
) -> tuple[float, ...]:
    high, low = solution
    slopes_high, slopes_low = high[1:] / scales, low[1:] / scales
    product, lost = two_product(slopes_high, centres)
    intercept = exact_sum(
        np.concatenate([[level, high[0], low[0]], -product, -lost, -(slopes_low * centres)])
    )
    return (intercept, *(slopes_high + slopes_low).tolist())
