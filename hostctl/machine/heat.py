"""Warming the bed until the frame has warmed with it; cool enough for hands; off again."""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from hostctl.errors import HostctlError, MachineError
from hostctl.records import Temperatures

if TYPE_CHECKING:  # the machine knows how to warm; warming knows what a machine is
    from hostctl.machine.machine import Machine

STEP_S = 2.0
NEARLY_WARM_C = 1.0
OFF_WITHIN_S = 10.0
OFF_AFTER_HEAT_WITHIN_S = 30.0
"""For a heater that is on, a homing is waited for: no order can interrupt it."""


async def warm_up(
    machine: "Machine", bed_c: float, soak_s: float, on_step: Callable[[Temperatures], None]
) -> None:
    """Warm the bed to `bed_c` (within 1 degree), then wait `soak_s` at temperature.

    Time is counted by the controller's own pauses. on_step: told every 2 s how warm it is; what
    it raises ends the warming. Raises MachineError when it is not warm in time; heaters are off
    then.
    """
    await machine.set_bed(bed_c)
    warming_s = 0.0
    while not _nearly((heat := await machine.temperatures()).bed_c, bed_c):
        if warming_s >= machine.config.heat.longest_s:
            await machine.heaters_off()
            raise MachineError(
                f"machine '{machine.config.machine}'",
                f"the bed is not at {bed_c:g} °C after {warming_s:.0f} s",
                "Check the bed's heater and sensor before anything else.",
            )
        on_step(heat)
        await machine.settle(STEP_S)
        warming_s += STEP_S
    for _ in range(round(soak_s / STEP_S)):
        on_step(await machine.temperatures())
        await machine.settle(STEP_S)


async def cool_for_hands(machine: "Machine") -> Temperatures:
    """The temperatures, which must be safe for hands. Raises MachineError when they are not.

    A digit may be damaged on the way: too hot is believed unless two more reports deny it.
    """
    try:
        return await _cool_now(machine)
    except MachineError:
        await _cool_now(machine)
        return await _cool_now(machine)


async def off_if_possible(machine: "Machine") -> str | None:
    """All heaters off; gives what went wrong in words, None when nothing. Never fails."""
    try:
        async with asyncio.timeout(OFF_AFTER_HEAT_WITHIN_S if machine.may_heat else OFF_WITHIN_S):
            await machine.heaters_off()
    except (HostctlError, TimeoutError) as problem:
        why = str(problem) or "it took too long"
        return f"the heaters could not be switched off: {why}"
    return None


async def safe_at_last(machine: "Machine") -> str | None:
    """As `machine.make_safe`; but a line that went down with a heater on is opened once more."""
    problem = await machine.make_safe()
    if machine.may_heat and not machine.connected:
        with suppress(HostctlError):  # then the first problem is still the one to tell
            await machine.connect()
            problem = await machine.make_safe()
    return problem


async def _cool_now(machine: "Machine") -> Temperatures:
    heat = await machine.temperatures()
    machine.envelope.check_hands_safe(heat.nozzle_c, heat.bed_c)
    return heat


def _nearly(is_c: float | None, wanted_c: float) -> bool:
    return is_c is not None and is_c >= wanted_c - NEARLY_WARM_C
