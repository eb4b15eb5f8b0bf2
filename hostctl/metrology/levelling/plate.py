"""How a plate can move when screws under it are turned, and what they can't have done."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.distributions import f_quantile
from hostctl.metrology.levelling.advice import Advice
from hostctl.metrology.levelling.heights import Heights

Floats: TypeAlias = NDArray[np.float64]

_FALSE_JUMPS = 0.002


def pattern_jumped(before: Heights, advice: Advice, after: Heights) -> bool:
    """Whether the heights moved in a pattern that a plate on these screws can't make."""
    shapes = _shapes(before, advice)
    free = len(before.names) - int(np.linalg.matrix_rank(shapes))
    covariance = before.covariance + after.covariance
    if free < 1:
        return False
    tiny = 1e-18 * np.eye(len(covariance))
    root = np.linalg.inv(np.linalg.cholesky(covariance + tiny))
    moved = root @ (after.height_mm - before.height_mm)
    fitted, *_ = np.linalg.lstsq(root @ shapes, moved, rcond=None)
    left = moved - root @ shapes @ fitted
    df = min(before.scatter.df + after.scatter.df, 1e6)
    return float(left @ left) > free * f_quantile(1.0 - _FALSE_JUMPS, float(free), df)


def _shapes(heights: Heights, advice: Advice) -> Floats:
    """Movements of the points that screws can make: a plane, and on four or more screws the plate
    bent by forces at them (thin plate: r² log r), and twisted.
    """
    u = heights.x_mm - advice.plane.middle_x
    v = heights.y_mm - advice.plane.middle_y
    reach = max(float(np.abs(u).max()), float(np.abs(v).max()))
    flat = np.column_stack([np.ones_like(u), u / reach, v / reach])
    if len(advice.turns) < 4:
        return flat
    x = np.array([(t.screw.x_mm - advice.plane.middle_x) / reach for t in advice.turns])
    y = np.array([(t.screw.y_mm - advice.plane.middle_y) / reach for t in advice.turns])
    forces = np.linalg.svd(np.array([np.ones_like(x), x, y]))[2][3:].T
    squared = (u[:, None] / reach - x) ** 2 + (v[:, None] / reach - y) ** 2
    bent = squared * np.log(np.maximum(squared, 1e-30)) @ forces
    return np.column_stack([flat, bent, u * v / reach**2])
