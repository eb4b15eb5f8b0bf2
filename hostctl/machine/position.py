"""Positions compared and shown."""

from hostctl.config.machine import Travel
from hostctl.errors import MachineError
from hostctl.records import Position

NEAR_MM = 0.5
"""Axes closer than this to where they belong are not the ones that are amiss."""


def far_apart_mm(one: Position, other: Position) -> float:
    """The largest difference along any axis, mm."""
    return max(abs(one.x_mm - other.x_mm), abs(one.y_mm - other.y_mm), abs(one.z_mm - other.z_mm))


def shown(at: Position) -> str:
    """For people: x 30.00, y 30.00, z 5.00 mm."""
    return f"x {at.x_mm:.2f}, y {at.y_mm:.2f}, z {at.z_mm:.2f} mm"


def elsewhere(
    where: str, travel: Travel, at: Position, expected: Position, objection: str
) -> MachineError:
    """The head is not where it should be. objection: what the machine said before."""
    said = f"; it said: {objection}" if objection else ""
    return MachineError(
        where,
        f"the head is at {shown(at)}, not at {shown(expected)} as ordered{said}",
        f"{why_elsewhere(travel, at, expected)} It homes again before it goes on.",
    )


def why_elsewhere(travel: Travel, at: Position, expected: Position) -> str:
    """What to do about a head that is elsewhere.

    Where it stands short of where it was sent, on its way out towards an end of the travel, while
    everything else is right, its controller may know a shorter travel than the file gives.
    """
    spans = (
        ("x", at.x_mm, expected.x_mm, travel.x),
        ("y", at.y_mm, expected.y_mm, travel.y),
        ("z", at.z_mm, expected.z_mm, travel.z),
    )
    amiss = [span for span in spans if abs(span[1] - span[2]) > NEAR_MM]
    short = [
        (axis, is_mm)
        for axis, is_mm, wanted_mm, span in amiss
        if (wanted_mm - is_mm) * (wanted_mm - (span.from_mm + span.to_mm) / 2) > 0
    ]
    if not amiss or len(short) < len(amiss):
        return "See what stopped or diverted it."
    ends = " and ".join(f"{axis} ends at {is_mm:g} mm" for axis, is_mm in short)
    return f"If {ends} on this machine, mend 'travel' in its file; else see what stopped it."
