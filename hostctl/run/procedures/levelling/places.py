"""Where gauge and head are while a screw is turned."""

from collections.abc import Sequence
from math import hypot
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Point


def nearest(screw: "BedScrew", points: "Sequence[Point]") -> "Point":
    """The point over which the gauge stands while a screw is turned."""
    return min(points, key=lambda one: hypot(one.x_mm - screw.x_mm, one.y_mm - screw.y_mm))


def farthest(screw: "BedScrew", points: "Sequence[Point]") -> "Point":
    """Where the head waits while hands are at a screw and nothing is read there."""
    return max(points, key=lambda one: hypot(one.x_mm - screw.x_mm, one.y_mm - screw.y_mm))
