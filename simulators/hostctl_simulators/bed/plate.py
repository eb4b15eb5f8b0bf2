"""How much each screw moves the plate at one place. Shares add up to 1.

A stiff plate on equal springs lies as the least squares have it; a soft one follows its screws.
"""

from collections.abc import Callable, Sequence
from math import hypot

from hostctl_simulators.bed.screws import ScrewKind

Shares = list[float]
AT_A_SCREW_MM = 1e-6


def shares_of(screws: Sequence[ScrewKind], *, stiff: bool) -> Callable[[float, float], Shares]:
    """The shares at any place, in the order of the screws."""
    if len(screws) == 3:
        return lambda x_mm, y_mm: _of_three(screws, x_mm, y_mm)
    if stiff:
        return lambda x_mm, y_mm: _of_plane(screws, x_mm, y_mm)
    if len(screws) == 4:
        return lambda x_mm, y_mm: _of_rectangle(screws, x_mm, y_mm)
    return lambda x_mm, y_mm: _of_many(screws, x_mm, y_mm)


def _of_three(screws: Sequence[ScrewKind], x_mm: float, y_mm: float) -> Shares:
    """Barycentric weights in the triangle of three screws."""
    a, b, c = screws
    whole = (b.y_mm - c.y_mm) * (a.x_mm - c.x_mm) + (c.x_mm - b.x_mm) * (a.y_mm - c.y_mm)
    of_a = ((b.y_mm - c.y_mm) * (x_mm - c.x_mm) + (c.x_mm - b.x_mm) * (y_mm - c.y_mm)) / whole
    of_b = ((c.y_mm - a.y_mm) * (x_mm - c.x_mm) + (a.x_mm - c.x_mm) * (y_mm - c.y_mm)) / whole
    return [of_a, of_b, 1 - of_a - of_b]


def _of_rectangle(screws: Sequence[ScrewKind], x_mm: float, y_mm: float) -> Shares:
    """Bilinear: front left, front right, back left, back right."""
    front_left, back_right = screws[0], screws[3]
    u = (x_mm - front_left.x_mm) / (back_right.x_mm - front_left.x_mm)
    v = (y_mm - front_left.y_mm) / (back_right.y_mm - front_left.y_mm)
    return [(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v]


def _of_plane(screws: Sequence[ScrewKind], x_mm: float, y_mm: float) -> Shares:
    """The plane of least squares through their heights."""
    count = len(screws)
    middle_x = sum(screw.x_mm for screw in screws) / count
    middle_y = sum(screw.y_mm for screw in screws) / count
    away = [(screw.x_mm - middle_x, screw.y_mm - middle_y) for screw in screws]
    xx, yy = sum(x * x for x, _ in away), sum(y * y for _, y in away)
    xy = sum(x * y for x, y in away)
    whole, u, v = xx * yy - xy * xy, x_mm - middle_x, y_mm - middle_y
    slope_x, slope_y = (u * yy - v * xy) / whole, (v * xx - u * xy) / whole
    return [1 / count + slope_x * x + slope_y * y for x, y in away]


def _of_many(screws: Sequence[ScrewKind], x_mm: float, y_mm: float) -> Shares:
    """The plane, and what each screw is off it, told to its neighbourhood by inverse squares of
    distances: right above a screw the plate is where the screw has it."""
    weights = _inverse_squares(screws, x_mm, y_mm)
    here = _of_plane(screws, x_mm, y_mm)
    there = [_of_plane(screws, screw.x_mm, screw.y_mm) for screw in screws]
    off = [
        weight - sum(weights[k] * there[k][i] for k in range(len(screws)))
        for i, weight in enumerate(weights)
    ]
    return [plane + more for plane, more in zip(here, off, strict=True)]


def _inverse_squares(screws: Sequence[ScrewKind], x_mm: float, y_mm: float) -> Shares:
    far_mm = [max(hypot(s.x_mm - x_mm, s.y_mm - y_mm), AT_A_SCREW_MM) for s in screws]
    raw = [1 / each**2 for each in far_mm]
    return [each / sum(raw) for each in raw]
