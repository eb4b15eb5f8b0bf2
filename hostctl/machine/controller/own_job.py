"""Whether a board runs a job that is not ours: a print from its card, or another program's.

It is only asked, by queries that set nothing. An answer that is not understood is no sign. What
comes back has no checksum, so what one report alone says is not believed.
"""

import asyncio
import re
from collections.abc import Awaitable, Callable

from hostctl.errors import MachineError
from hostctl.machine.controller.orders import Orders
from hostctl.machine.position import far_apart_mm
from hostctl.records import Heat, Position

APART_S = 0.5
"""Between two looks at where the head is: a job moves it."""
MOVED_MM = 0.005

AskHeat = Callable[[], Awaitable[Heat]]

_CARD = re.compile(r"\bprinting byte\s*(\d+)\s*/\s*(\d+)", re.IGNORECASE)


class OwnJob(MachineError):
    """The board runs a job that is not ours: it is only asked, until that is over."""


async def check_no_own_job(orders: Orders, asked_heat: AskHeat) -> None:
    """Raises OwnJob where something says so. Only asks. asked_heat: asks for the temperatures."""
    sign = await _sign(orders, asked_heat)
    if sign:
        raise OwnJob(
            orders.where,
            f"it runs a job of its own ({sign}), so it is only asked and shown",
            "Let it end, or end it at the machine's own screen. STOP halts the machine.",
        )


async def _sign(orders: Orders, asked_heat: AskHeat) -> str:
    """What shows a job, in words; empty when nothing does."""
    nozzle_c = await _nozzle_target_c(asked_heat)
    answer = await orders.attempt("M27")
    for text in answer.texts:
        if found := _CARD.search(text):
            return f"its card is at byte {found[1]} of {found[2]}"
    if answer.was_busy:
        return "it says that it is busy"
    if nozzle_c:
        return f"its nozzle is heating to {nozzle_c:.0f} °C"
    return "its head moves" if await _moves(orders) else ""


async def _nozzle_target_c(asked_heat: AskHeat) -> float | None:
    """What the nozzle aims at, which no order of ours ever sets; believed when said twice."""
    if not (await _heat(asked_heat)).nozzle_target_c:
        return None
    return (await _heat(asked_heat)).nozzle_target_c


async def _moves(orders: Orders) -> bool:
    """Three reports, each elsewhere: one that was damaged on the way leaves two alike."""
    seen: list[Position] = []
    for look in range(3):
        at = await _position(orders)
        if at is None or any(far_apart_mm(at, before) <= MOVED_MM for before in seen):
            return False
        seen.append(at)
        if look < 2:
            await asyncio.sleep(APART_S)
    return True


async def _heat(asked_heat: AskHeat) -> Heat:
    try:
        return await asked_heat()
    except MachineError:
        return Heat()


async def _position(orders: Orders) -> Position | None:
    try:
        return await orders.position()
    except MachineError:
        return None
