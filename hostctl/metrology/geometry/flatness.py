"""Flatness: the thinnest slab that holds every point, with a proof that none is thinner.

ISO 12781-1 and ISO 1101 (from memory) measure across the slab; for a bed that differs from heights
only by the cosine of its tilt. In a frame whose z axis is the slab's own normal the question is the
linear programme "least h with |z - a - b x - c y| <= h for all". Its dual puts weights λ on a few
points with Σλ = Σλx = Σλy = 0, Σ|λ| = 1, and any such weights prove h >= Σλz. The simplex rule on
that dual needs four points at a time and one pass over all points a step: no hull is built. The
frame is then turned to the slab found and the programme solved again until it stays.

What is proven: no slab with that normal's programme is thinner than `width` by more than `gap`. A
slab turned far from it could only be thinner if the points were about as high as they are wide.
"""

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.geometry.bed import checked_points, fit_plane

Floats: TypeAlias = NDArray[np.float64]

_MOST_STEPS = 2000
_STALLED = 25
_TOO_STEEP = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumZone:
    """The thinnest slab. Its middle plane is z = height + slope_x x + slope_y y.

    width: across the slab. vertical_width: least along z, from the programme in the given frame.
    touching: numbers of the points that pin it, counted from 0. gap: at most this much of `width`
    is unproven (rounding only).
    """

    width: float
    vertical_width: float
    height: float
    slope_x: float
    slope_y: float
    touching: tuple[int, ...]
    gap: float
    n: int
    source: str = "minimum zone, ISO 12781-1 (from memory)"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastSquaresFlatness:
    """Deviations from the least-squares plane, across it: FLTt, FLTp, FLTv, FLTq (ISO 12781-1)."""

    peak_to_valley: float
    peak: float
    valley: float
    root_mean_square: float
    n: int


@dataclass(slots=True)
class _Fit:
    """Middle plane a + b x + c y of a least-h fit, h, and the weights that prove it."""

    plane: Floats
    h: float
    gap: float
    basis: NDArray[np.int64]
    weights: Floats


def minimum_zone(x: ArrayLike, y: ArrayLike, z: ArrayLike) -> MinimumZone:
    """The thinnest slab holding all the points (x, y, z), in their unit. Time grows with n.

    Raises NotEnough for fewer than 3 points, points on one line, values that aren't finite, and
    heights in another unit than x and y, as their size betrays.
    """
    points = np.column_stack(checked_points(x, y, z))
    wide, deep, high = np.ptp(points, axis=0)
    if high > _TOO_STEEP * max(wide, deep):
        raise NotEnough(Reason(Why.UNITS_DIFFER))
    middle = points.mean(axis=0)
    points = points - middle
    flat = _least_h(points, None)
    fit, frame = flat, np.eye(3)
    for _ in range(20):
        turn = _frame_along(np.array([-fit.plane[1], -fit.plane[2], 1.0]))
        frame = turn @ frame
        fit = _least_h(points @ frame.T, fit.basis)
        if np.abs(fit.plane[1:]).max() < 1e-13:
            break
    normal = frame.T @ np.array([-fit.plane[1], -fit.plane[2], 1.0])
    slope_x, slope_y = -normal[0] / normal[2], -normal[1] / normal[2]
    offset = fit.plane[0] / normal[2]
    return MinimumZone(
        width=2 * float(fit.h),
        vertical_width=2 * float(flat.h),
        height=float(middle[2] + offset - slope_x * middle[0] - slope_y * middle[1]),
        slope_x=float(slope_x),
        slope_y=float(slope_y),
        touching=tuple(sorted({int(i) for i in fit.basis[fit.weights > 1e-12]})),
        gap=2 * max(float(fit.gap), 0.0),
        n=len(points),
    )


def least_squares_flatness(x: ArrayLike, y: ArrayLike, z: ArrayLike) -> LeastSquaresFlatness:
    """Deviations from the plane of `fit_plane`, measured across it. Errors as `minimum_zone`."""
    plane = fit_plane(x, y, z)
    across = plane.residuals / math.hypot(1, plane.slope_x, plane.slope_y)
    return LeastSquaresFlatness(
        peak_to_valley=float(across.max() - across.min()),
        peak=float(across.max()),
        valley=float(-across.min()),
        root_mean_square=math.sqrt(float(across @ across) / len(across)),
        n=len(across),
    )


def _least_h(points: Floats, basis: NDArray[np.int64] | None) -> _Fit:
    """The programme in one frame, from four starting points or a basis that served before."""
    scale = np.abs(points).max(axis=0)
    scale[scale == 0] = 1.0
    u, v, z = (points / scale).T
    columns = np.column_stack([np.ones_like(u), u, v])
    if basis is None or np.linalg.matrix_rank(columns[basis], tol=1e-9) < 3:
        basis = _first_four(u, v, z)
    basis = basis.copy()
    signs = _signs(columns[basis])
    best, since = -1.0, 0
    for _ in range(_MOST_STEPS):
        matrix = np.vstack([(columns[basis] * signs[:, None]).T, np.ones(4)])
        inverse = np.linalg.inv(matrix)
        weights = inverse[:, 3]
        a, b, c, h = (signs * z[basis]) @ inverse
        off = z - (a + b * u + c * v)
        best, since = (h, 0) if h > best + 1e-15 else (best, since + 1)
        entering = _entering(off, h, careful=since > _STALLED)
        excess = abs(off[entering]) - h
        if excess <= 4e-16 * max(1.0, float(np.abs(z[basis]).max())):
            break
        sign = 1.0 if off[entering] > 0 else -1.0
        column = np.array([sign, sign * u[entering], sign * v[entering], 1.0])
        leaving = _leaving(weights, inverse @ column, basis)
        basis[leaving], signs[leaving] = entering, sign
    plane = np.array([a, b / scale[0], c / scale[1]]) * scale[2]
    reached = float(np.abs(off).max())
    return _Fit(plane, reached * scale[2], (reached - h) * scale[2], basis, weights)


def _first_four(u: Floats, v: Floats, z: Floats) -> NDArray[np.int64]:
    """Three points far from one line, and the one furthest off their plane."""
    first = int(u.argmin())
    second = int(((u - u[first]) ** 2 + (v - v[first]) ** 2).argmax())
    area = (u[second] - u[first]) * (v - v[first]) - (v[second] - v[first]) * (u - u[first])
    third = int(np.abs(area).argmax())
    three = [first, second, third]
    plane = np.linalg.solve(np.column_stack([np.ones(3), u[three], v[three]]), z[three])
    off = np.abs(z - (plane[0] + plane[1] * u + plane[2] * v))
    off[three] = -1.0
    return np.array([*three, int(off.argmax())])


def _signs(four: Floats) -> Floats:
    """Signs of the weights that balance four points; for a weight of 0 either will do."""
    balance = np.linalg.svd(four.T)[2][-1]
    return np.where(balance >= 0, 1.0, -1.0)


def _entering(off: Floats, h: float, *, careful: bool) -> int:
    """The furthest point off; once steps gain nothing, the first that is off (Bland's rule)."""
    if careful:
        return int((np.abs(off) > h + 1e-14).argmax())
    high, low = int(off.argmax()), int(off.argmin())
    return high if off[high] >= -off[low] else low


def _leaving(weights: Floats, step: Floats, basis: NDArray[np.int64]) -> int:
    """The weight that first falls to 0; of several the one with the largest step, then number."""
    able = step > 1e-13
    ratios = np.where(able, weights / np.where(able, step, 1.0), np.inf)
    tied = np.flatnonzero(ratios <= ratios.min() + 1e-15)
    return int(tied[np.lexsort((basis[tied], -step[tied]))[0]])


def _frame_along(normal: Floats) -> Floats:
    """Rotation that brings `normal` to the z axis, turning as little as possible."""
    n = normal / np.linalg.norm(normal)
    p, q, r = n
    k = 1 / (1 + r)
    return np.array([[1 - k * p * p, -k * p * q, -p], [-k * p * q, 1 - k * q * q, -q], [p, q, r]])
