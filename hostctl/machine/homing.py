"""Homing: up first, then all axes, then proof that it happened."""

from dataclasses import dataclass

from hostctl.config.machine import Machine as MachineFile
from hostctl.errors import MachineError
from hostctl.machine.controller.orders import Orders, Refused
from hostctl.machine.dialects.dialect import DIALECTS, Dialect
from hostctl.machine.dialects.number import plain
from hostctl.machine.dialects.terse import Terse
from hostctl.records import Position

HOMING_S = 120.0
USUAL_S = 30.0
"""Homing of a printer of the usual size (common practice, no source)."""

TRIES = 3
AWAY_MM = 50.0
NEAR_MM = 1.0


async def homed_in_its_dialect(
    file: MachineFile, orders: Orders, dialect: Dialect
) -> tuple[Position, Dialect]:
    """As `homed_position`; how a refusal is said decides the dialect where nothing did before."""
    try:
        return await homed_position(file, orders, dialect), dialect
    except RiseRefused as refused:
        if file.dialect is not None or not refused.marked:
            raise
    dialect = DIALECTS.find(Terse.name)()
    return await homed_position(file, orders, dialect), dialect


async def homed_position(file: MachineFile, orders: Orders, dialect: Dialect) -> Position:
    """Home all axes; gives where the head is afterwards.

    A damaged G28 can pass the checksum as something harmless and be acknowledged, and a board that
    stopped itself acknowledges without doing anything. So the controller is first told that it is
    at a place outside the travel, and asked whether it believes that; if it still says so
    afterwards, it did not home. Raises MachineError when it does not home in three tries.
    """
    await orders.do("G90")
    await _rise(file, orders, dialect)
    away = _Away(x_mm=file.travel.x.from_mm - AWAY_MM, y_mm=file.travel.y.from_mm - AWAY_MM)
    obeys = False
    for _ in range(TRIES):
        await orders.do(f"G92 X{plain(away.x_mm)} Y{plain(away.y_mm)}")
        if not away.is_at(await orders.position()):
            continue
        obeys = True
        await orders.do("G28", takes_s=HOMING_S, usual_s=USUAL_S)
        await orders.do("M400", takes_s=HOMING_S, usual_s=USUAL_S)
        at = await orders.position()
        if not away.is_at(at):
            return at
    if obeys:
        raise MachineError(orders.where, "it does not home", "See what its own screen says.")
    raise MachineError(
        orders.where,
        "it acknowledges orders and does not carry them out",
        "See what its own screen says, then switch it off and on.",
    )


class RiseRefused(MachineError):
    """It refuses to move unhomed. `marked`: with `!!`, which only the terse dialect does."""

    marked = False


async def _rise(file: MachineFile, orders: Orders, dialect: Dialect) -> None:
    rise_mm, speed_mm_s = file.clear_z_mm, file.speeds.lift_mm_s
    try:
        for command in dialect.rise_unhomed(rise_mm, speed_mm_s):
            await orders.do(command, takes_s=rise_mm / speed_mm_s)
    except Refused as refused:
        rise = RiseRefused(
            refused.where,
            f"{refused.what} (before homing, in the dialect '{dialect.name}')",
            "If it does not move before it is homed, and rises by itself as it homes, set "
            "'dialect: terse' in the machine file.",
        )
        rise.marked = refused.marked
        raise rise from refused


@dataclass(frozen=True, slots=True, kw_only=True)
class _Away:
    """A place outside the travel."""

    x_mm: float
    y_mm: float

    def is_at(self, at: Position) -> bool:
        return abs(at.x_mm - self.x_mm) <= NEAR_MM and abs(at.y_mm - self.y_mm) <= NEAR_MM
