"""A bed as a surface: its least-squares plane, how well a height on it is known, twist and bow.

Ordinary least squares with errors in height only, in coordinates about the middle of the points
(JCGM 100:2008 H.3 does the same for a line; a height away from the points needs the covariance).
"""

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why

Floats: TypeAlias = NDArray[np.float64]

_SOURCE = "least squares; JCGM 100:2008 H.3 for the covariance (from memory)"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightSpread:
    """Standard deviation of one height known from elsewhere, as from a rig check, on `df`."""

    sd: float
    df: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plane:
    """z = middle_height + slope_x (x - middle_x) + slope_y (y - middle_y).

    unscaled: covariance of (middle_height, slope_x, slope_y) for heights of unit variance; the
    covariance is sd² times it. residuals: height less plane, in the order of the points.
    sd, df: of one height, from the residuals (n - 3) or from `HeightSpread`; df 0 if from neither.
    """

    middle_x: float
    middle_y: float
    middle_height: float
    slope_x: float
    slope_y: float
    unscaled: Floats
    residuals: Floats
    sd: float
    df: float
    n: int

    @property
    def covariance(self) -> Floats:
        """Covariance matrix of (middle_height, slope_x, slope_y)."""
        return self.sd**2 * self.unscaled

    def at(self, x: float, y: float) -> float:
        """Height of the plane."""
        return (
            self.middle_height
            + self.slope_x * (x - self.middle_x)
            + self.slope_y * (y - self.middle_y)
        )

    def height_u(self, x: float, y: float) -> float:
        """Standard uncertainty of the plane's height at a place, grown with its distance."""
        arm = np.array([1.0, x - self.middle_x, y - self.middle_y])
        return self.sd * math.sqrt(float(arm @ self.unscaled @ arm))

    def height(self, x: float, y: float, confidence: float = 0.95) -> Estimate | NotYet:
        """The plane's height at a place, with its Student interval."""
        return _estimate(
            self.at(x, y), self.height_u(x, y), self.df, self.n, confidence, "plane through points"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How a bed departs from its plane, in the unit of height, over the rectangle of the points.

    twist: how far two opposite corners stand above the plane, the other two as far below it.
    bow_x, bow_y: how far the edges stand above the middle, along each axis. bow: both together,
    corners above the middle; four corners and a middle tell that much and not its parts.
    """

    twist: Estimate | NotYet
    bow_x: Estimate | NotYet
    bow_y: Estimate | NotYet
    bow: Estimate | NotYet
    residual_sd: float
    df: float


def fit_plane(
    x: ArrayLike, y: ArrayLike, z: ArrayLike, *, height_spread: HeightSpread | None = None
) -> Plane:
    """The least-squares plane through heights z at (x, y).

    height_spread: spread of one height, taken instead of the residuals' own.
    Raises NotEnough for fewer than 3 points, points on one line, or values that aren't finite.
    """
    xs, ys, zs = checked_points(x, y, z)
    middle_x, middle_y = float(xs.mean()), float(ys.mean())
    u, v = xs - middle_x, ys - middle_y
    reach = max(float(np.abs(u).max()), float(np.abs(v).max()))
    design = np.column_stack([np.ones_like(u), u / reach, v / reach])
    q, r = np.linalg.qr(design)
    level = float(zs.mean())
    coefficients = np.linalg.solve(r, q.T @ (zs - level))
    residuals = zs - level - design @ coefficients
    root = np.linalg.inv(r) / np.array([[1.0], [reach], [reach]])
    sd, df = _spread(residuals, len(zs) - 3, height_spread)
    return Plane(
        middle_x=middle_x,
        middle_y=middle_y,
        middle_height=level + float(coefficients[0]),
        slope_x=float(coefficients[1]) / reach,
        slope_y=float(coefficients[2]) / reach,
        unscaled=root @ root.T,
        residuals=residuals,
        sd=sd,
        df=df,
        n=len(zs),
    )


def fit_shape(
    x: ArrayLike,
    y: ArrayLike,
    z: ArrayLike,
    *,
    height_spread: HeightSpread | None = None,
    confidence: float = 0.95,
) -> Shape:
    """Twist and bow, told apart by fitting plane + t u v + p u² + q v², u and v from -1 to 1.

    A figure that these points can't tell is a NotYet; one without spare points or `height_spread`
    to judge it by too. Raises NotEnough as `fit_plane`.
    """
    xs, ys, zs = checked_points(x, y, z)
    u, v = _minus_one_to_one(xs), _minus_one_to_one(ys)
    design = np.column_stack([np.ones_like(u), u, v, u * v, u * u, v * v])
    left, singular, right = np.linalg.svd(design, full_matrices=False)
    kept = singular > singular[0] * 1e-9
    rows = right[kept]
    inverse = rows.T @ ((left[:, kept] / singular[kept]).T)
    level = float(zs.mean())
    coefficients = inverse @ (zs - level)
    residuals = zs - level - design @ coefficients
    sd, df = _spread(residuals, len(zs) - int(kept.sum()), height_spread)

    def told(what: str, *places: int) -> Estimate | NotYet:
        arm = np.zeros(6)
        arm[list(places)] = 1.0
        if np.abs(arm - rows.T @ (rows @ arm)).max() > 1e-7:
            return NotYet(reason=Reason(Why.SHAPE_NOT_TOLD, what=what))
        u_of_it = sd * float(np.linalg.norm(arm @ inverse))
        return _estimate(float(arm @ coefficients), u_of_it, df, len(zs), confidence, what)

    return Shape(
        twist=told("twist", 3),
        bow_x=told("bow along x", 4),
        bow_y=told("bow along y", 5),
        bow=told("bow", 4, 5),
        residual_sd=sd,
        df=df,
    )


def checked_points(x: ArrayLike, y: ArrayLike, z: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """The points as equal arrays of floats that hold a plane.

    Raises NotEnough for fewer than 3, any not finite, unequal numbers, or all on one line.
    """
    xs, ys, zs = (np.asarray(values, dtype=np.float64).ravel() for values in (x, y, z))
    if not len(xs) == len(ys) == len(zs):
        raise ValueError(f"{len(xs)} x, {len(ys)} y and {len(zs)} heights don't make points")
    if len(xs) < 3:
        raise NotEnough(Reason(Why.TOO_FEW_POINTS, given=len(xs)))
    bad = np.flatnonzero(~(np.isfinite(xs) & np.isfinite(ys) & np.isfinite(zs)))
    if len(bad):
        raise NotEnough(Reason(Why.POINT_NOT_A_NUMBER, place=int(bad[0]) + 1))
    u, v = xs - xs.mean(), ys - ys.mean()
    uu, vv, uv = float(u @ u), float(v @ v), float(u @ v)
    if uu * vv - uv * uv <= 1e-14 * (uu + vv) ** 2:
        raise NotEnough(Reason(Why.POINTS_ON_A_LINE))
    return xs, ys, zs


def _spread(residuals: Floats, df: int, height_spread: HeightSpread | None) -> tuple[float, float]:
    """Standard deviation of one height and its df; 0 on 0 where nothing can tell it."""
    if height_spread is not None:
        return height_spread.sd, height_spread.df
    if df == 0:
        return 0.0, 0.0
    return math.sqrt(float(residuals @ residuals) / df), float(df)


def _estimate(
    value: float, u: float, df: float, n: int, confidence: float, how: str
) -> Estimate | NotYet:
    if df == 0:
        return NotYet(
            reason=Reason(Why.NO_POINT_FOR_DOUBT, value=value, points=n),
            needs_n=n + 1,
        )
    half = student_t_quantile((1 + confidence) / 2, df) * u
    interval = Interval(low=value - half, high=value + half, confidence=confidence)
    return Estimate(value=value, interval=interval, n=n, how=how, source=_SOURCE)


def _minus_one_to_one(values: Floats) -> Floats:
    """Scaled to the range of the values; 0 where they don't vary."""
    low, high = float(values.min()), float(values.max())
    return (values - (low + high) / 2) / ((high - low) / 2)
