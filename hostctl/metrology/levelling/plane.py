"""The plane of measured heights, and how large a tilt is, which can't be less than nothing.

Ordinary least squares: a bed is warped by more than its readings scatter, so that the plane meant
is the one that weighs all places alike, whichever were read better. Its covariance comes from that
of the heights, never from the residuals, which are the bed's own shape.
"""

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.geometry.bed import fit_plane
from hostctl.metrology.levelling.heights import Heights

Floats: TypeAlias = NDArray[np.float64]
Part: TypeAlias = tuple[Floats, float]
"""A covariance matrix of (middle height, slope x, slope y), and its degrees of freedom."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A value with its standard uncertainty and degrees of freedom."""

    value: float
    u: float
    df: float

    def half(self, confidence: float = 0.95) -> float:
        """Half the width of its interval, by Student's t."""
        return self.u * student_t_quantile((1.0 + confidence) / 2.0, self.df) if self.u else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tilt:
    """Highest less lowest of a plane over some places, in mm, with limits that both hold."""

    value_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelPlane:
    """z = middle_height + slope_x (x - middle_x) + slope_y (y - middle_y), in mm.

    The middle is the mean of the measured points, so middle_height is their mean height.
    parts: independent covariances of (middle_height, slope_x, slope_y) that add up.
    """

    middle_x: float
    middle_y: float
    middle_height: float
    slope_x: float
    slope_y: float
    parts: tuple[Part, ...]

    @property
    def coefficients(self) -> Floats:
        """(middle_height, slope_x, slope_y)."""
        return np.array([self.middle_height, self.slope_x, self.slope_y])

    @property
    def covariance(self) -> Floats:
        """Of the coefficients, all parts together."""
        return np.asarray(sum((matrix for matrix, _ in self.parts), np.zeros((3, 3))))

    def arms(self, x: ArrayLike, y: ArrayLike) -> Floats:
        """Rows that give the plane's height at places when multiplied with the coefficients."""
        xs, ys = np.atleast_1d(np.asarray(x, float)), np.atleast_1d(np.asarray(y, float))
        return np.column_stack([np.ones(len(xs)), xs - self.middle_x, ys - self.middle_y])

    def at(self, x: float, y: float) -> float:
        """Height of the plane."""
        return float((self.arms(x, y) @ self.coefficients)[0])

    def told(self, arm: ArrayLike) -> Quantity:
        """A combination of the coefficients; degrees of freedom by Welch and Satterthwaite."""
        row = np.asarray(arm, dtype=np.float64)
        u, df = doubt(row, self.parts)
        return Quantity(value=float(row @ self.coefficients), u=u, df=df)

    def tilt(self, x: ArrayLike, y: ArrayLike, confidence: float = 0.95) -> Tilt:
        """How far the plane's highest of these places stands above its lowest.

        The limits are those of every slope within one region of confidence (H. Scheffé,
        Biometrika 40, 1953, from memory: half widths of u sqrt(2 F) in all directions at once), so
        they hold near zero too, where the size of a tilt is told too large on average.
        """
        arms = self.arms(x, y)
        first, second = np.triu_indices(len(arms), 1)
        apart = arms[first] - arms[second]
        sizes = np.abs(apart @ self.coefficients)
        halves = _halves(apart, self.parts, confidence)
        return Tilt(
            value_mm=float(sizes.max()),
            low_mm=max(float((sizes - halves).max()), 0.0),
            high_mm=float((sizes + halves).max()),
        )


def plane_of(heights: Heights) -> LevelPlane:
    """The least-squares plane through heights, every point weighing the same."""
    plane = fit_plane(heights.x_mm, heights.y_mm, heights.height_mm)
    u, v = heights.x_mm - plane.middle_x, heights.y_mm - plane.middle_y
    weights = plane.unscaled @ np.array([np.ones_like(u), u, v])
    by_scatter = heights.scatter.sd**2 * (weights @ heights.unscaled @ weights.T)
    by_rounding = heights.rounding_u_mm**2 * (weights @ weights.T)
    return LevelPlane(
        middle_x=plane.middle_x,
        middle_y=plane.middle_y,
        middle_height=plane.middle_height,
        slope_x=plane.slope_x,
        slope_y=plane.slope_y,
        parts=((by_scatter, heights.scatter.df), (by_rounding, math.inf)),
    )


def doubt(arm: Floats, parts: tuple[Part, ...]) -> tuple[float, float]:
    """Standard uncertainty of a combination, and its degrees of freedom (JCGM 100:2008 G.4)."""
    variances = [(max(float(arm @ matrix @ arm), 0.0), df) for matrix, df in parts]
    total = sum(variance for variance, _ in variances)
    inverse = sum((variance / total) ** 2 / df for variance, df in variances) if total else 0.0
    return math.sqrt(total), 1.0 / inverse if inverse else math.inf


def _halves(arms: Floats, parts: tuple[Part, ...], confidence: float) -> Floats:
    """Half widths u sqrt(2 F) of combinations; F on 2 degrees of freedom has a closed form."""
    variances = np.array([np.einsum("ij,jk,ik->i", arms, matrix, arms) for matrix, _ in parts])
    variances = np.maximum(variances, 0.0)
    total = variances.sum(axis=0)
    shares = variances / np.where(total > 0.0, total, 1.0)
    inverse = (shares**2 / np.array([[df] for _, df in parts])).sum(axis=0)
    inverse = np.maximum(inverse, 1e-9)
    two_f = np.expm1(-2.0 * math.log(1.0 - confidence) * inverse) / inverse
    return np.asarray(np.sqrt(total * two_f))
