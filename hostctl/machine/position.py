"""Positions compared and shown."""

from hostctl.errors import MachineError
from hostctl.records import Position


def far_apart_mm(one: Position, other: Position) -> float:
    """The largest difference along any axis, mm."""
    return max(abs(one.x_mm - other.x_mm), abs(one.y_mm - other.y_mm), abs(one.z_mm - other.z_mm))


def shown(at: Position) -> str:
    """For people: x 30.00, y 30.00, z 5.00 mm."""
    return f"x {at.x_mm:.2f}, y {at.y_mm:.2f}, z {at.z_mm:.2f} mm"


def elsewhere(where: str, at: Position, expected: Position, objection: str) -> MachineError:
    """The head is not where it should be. objection: what the machine said before."""
    said = f"; it said: {objection}" if objection else ""
    return MachineError(
        where,
        f"the head is at {shown(at)}, not at {shown(expected)} as ordered{said}",
        "See what stopped or diverted it, or whether the travel in the machine file is larger "
        "than the machine's own; it homes again before it goes on.",
    )
