"""Positions compared and shown."""

from hostctl.records import Position


def far_apart_mm(one: Position, other: Position) -> float:
    """The largest difference along any axis, mm."""
    return max(abs(one.x_mm - other.x_mm), abs(one.y_mm - other.y_mm), abs(one.z_mm - other.z_mm))


def shown(at: Position) -> str:
    """For people: x 30.00, y 30.00, z 5.00 mm."""
    return f"x {at.x_mm:.2f}, y {at.y_mm:.2f}, z {at.z_mm:.2f} mm"
