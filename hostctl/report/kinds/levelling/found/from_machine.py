"""What a machine file says of a bed: its screws, and where the nozzle may go."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from hostctl.report.kinds.levelling.result import ScrewFound, TravelFound

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Machine


def screws_of(machine: "Machine", raised_mm: Mapping[str, float] | None) -> tuple[ScrewFound, ...]:
    """raised_mm: how far each has raised the bed since the file was written, down negative; None:
    nobody knows."""
    known = raised_mm is not None
    moved = raised_mm or {}
    return tuple(_screw(one, moved.get(one.name, 0.0), known=known) for one in machine.screws)


def travel_of(machine: "Machine") -> TravelFound:
    """Along x and y."""
    across, back = machine.travel.x, machine.travel.y
    return TravelFound(
        left_mm=across.from_mm, right_mm=across.to_mm, front_mm=back.from_mm, back_mm=back.to_mm
    )


def _screw(screw: "BedScrew", raised_mm: float, *, known: bool) -> ScrewFound:
    return ScrewFound(
        name=screw.name,
        x_mm=screw.x_mm,
        y_mm=screw.y_mm,
        pitch_mm=screw.pitch_mm,
        seen_from=screw.seen_from.value,
        can_raise_mm=_left(screw.can_raise_mm, -raised_mm) if known else None,
        can_lower_mm=_left(screw.can_lower_mm, raised_mm) if known else None,
    )


def _left(before_mm: float | None, more_mm: float) -> float | None:
    return None if before_mm is None else max(before_mm + more_mm, 0.0)
