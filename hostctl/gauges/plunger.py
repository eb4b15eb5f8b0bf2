"""The way of an indicator on the head: its plunger is brought down onto the bed from above."""

from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from typing import Protocol

from hostctl.config.machine import Point
from hostctl.errors import ConfigError
from hostctl.machine.machine import Machine
from hostctl.records import Position, Reading


async def bring_plunger(
    machine: Machine,
    point: Point,
    above_mm: float,
    settle_s: float,
    *,
    slowly: bool = False,
    while_free: AbstractContextManager[None] | None = None,
) -> Position:
    """Up, across until the plunger is over `point`, down to the reading height, settle, verify.

    slowly: all the way down, where the bed may be higher than it was.  while_free: is entered on
    the way across, where the plunger hangs free.
    Raises ConfigError when the machine file has no indicator.
    """
    indicator = machine.config.indicator
    if indicator is None:
        raise ConfigError(
            f"machine '{machine.config.machine}'",
            "it has no indicator to read",
            "Add 'indicator:' to its file, or take another gauge.",
        )
    await machine.lift()
    with while_free or nullcontext():
        await machine.go_over(
            point.x_mm - indicator.offset_x_mm, point.y_mm - indicator.offset_y_mm
        )
    await machine.lower_to(indicator.reading_z_mm + above_mm, slowly=slowly)
    await machine.settle(settle_s)
    expected = Position(
        x_mm=point.x_mm - indicator.offset_x_mm,
        y_mm=point.y_mm - indicator.offset_y_mm,
        z_mm=indicator.reading_z_mm + above_mm,
    )
    return await machine.check_at(expected)


class Shown(Protocol):
    """What a reading says of the gauge that it is of."""

    source: str
    resolution_mm: float


async def reading_there(
    machine: Machine, expected: Position, value_mm: float, *, of: Shown, taken_at: datetime
) -> Reading:
    """The reading, with where the head is proved to be, and how warm.

    Raises MachineError or LinkError where it is elsewhere, or too warm for hands.
    """
    return Reading(
        value_mm=value_mm,
        resolution_mm=of.resolution_mm,
        taken_at=taken_at,
        source=of.source,
        at=await machine.check_at(expected),
        temperatures=await machine.check_cool(),
    )
