"""Nozzle and bed of one machine: how warm, warmed, cool enough for hands, and off again."""

import asyncio
from collections.abc import Awaitable, Callable

from hostctl.config.machine import Machine as MachineFile
from hostctl.errors import HostctlError, MachineError
from hostctl.machine.controller.orders import Orders
from hostctl.machine.envelope import Envelope
from hostctl.machine.head import Head
from hostctl.observers import Observers
from hostctl.records import Heat, Temperatures

STEP_S = 2.0
NEARLY_WARM_C = 1.0
WARM_C = 35.0
"""From here on a part is told as warm though its heater is off."""
OnStep = Callable[[Heat], Awaitable[None]]
"""Told every 2 s how warm it is; what it raises ends the waiting."""
HANDS_IN = "while hands may be in the machine"
OFF_WITHIN_S = 10.0
OFF_AFTER_HEAT_WITHIN_S = 30.0
"""For a heater that is on, a homing is waited for: no order can interrupt it."""


class Heaters:
    """The heaters of one machine. Raises MachineError and LinkError, as the orders do."""

    def __init__(
        self,
        file: MachineFile,
        orders: Orders,
        envelope: Envelope,
        head: Head,
    ) -> None:
        """head: stands still while it is waited for warmth, by the controller's own clock."""
        self.may_be_on = False
        """Whether one was on, by us or as found, and is not known to be off again."""
        self.found_on = ""
        """Which were on when the machine was taken over, in words; empty: none."""
        self._bed_aim_c = 0.0  # what the bed aims at by our own order
        self.on_heard: Observers[Heat] = Observers()
        """Told whatever the machine says of its heat when asked."""
        self._file = file
        self._orders = orders
        self._envelope = envelope
        self._head = head

    async def heat(self) -> Heat:
        """Nozzle and bed now, and what they aim at."""
        heat = await self._orders.heat()
        self.on_heard.tell(heat)
        return heat

    async def look_at_rest(self) -> None:
        """Hear how warm it is; a heater that could not be switched off before is told so again."""
        await self.heat()
        if self.may_be_on:
            await self.off()

    async def check_cool(self) -> Temperatures:
        """The temperatures, which must be safe for hands. Raises MachineError when they are not.

        A digit may be damaged on the way: too hot is believed unless two more reports deny it.
        """
        try:
            return await self._cool_now()
        except MachineError:
            await self._cool_now()
            return await self._cool_now()

    async def check_calm(self, meanwhile: str = HANDS_IN) -> Temperatures:
        """Safe for hands, and no heater on but by our own order; else it is switched off.

        meanwhile: why that must not be, in words. A target may be damaged on the way: it is
        believed when it is said twice. Gives the temperatures. Raises MachineError.
        """
        heat = await self.heat()
        if self._not_ours(heat):
            heat = await self.heat()
        if by_others := self._not_ours(heat):
            problem = await self.off_if_possible()
            raise MachineError(
                self._orders.where,
                f"somebody else heated {by_others} {meanwhile}",
                f"Take your hands out until it is cool. {problem or 'All heaters are off now.'}",
            )
        try:
            self._envelope.check_hands_safe(heat.nozzle_c, heat.bed_c)
        except MachineError:
            return await self.check_cool()
        return heat.temperatures

    async def warm_bed(self, bed_c: float, soak_s: float, on_step: OnStep) -> None:
        """Warm the bed to `bed_c` (within 1 degree), then wait `soak_s` at temperature.

        Time is counted by the controller's own pauses. Raises MachineError when it is not warm in
        time; heaters are off then.
        """
        self._envelope.check_bed_target(bed_c)
        self.may_be_on, self._bed_aim_c = True, bed_c
        await self._orders.do(f"M140 S{bed_c:.0f}")
        warming_s = 0.0
        while not _nearly((heat := await self.heat()).bed_c, bed_c):
            if warming_s >= self._file.heat.longest_s:
                await self.off()
                raise MachineError(
                    self._orders.where,
                    f"the bed is not at {bed_c:g} °C after {warming_s:.0f} s",
                    "Check the bed's heater and sensor before anything else.",
                )
            await on_step(heat)
            await self._head.settle(STEP_S)
            warming_s += STEP_S
        await self._soak(soak_s, on_step)

    async def cool_bed(self, soak_s: float, on_step: OnStep) -> None:
        """All heaters off, then wait `soak_s`, counted as in `warm_bed`."""
        await self.off()
        await self._soak(soak_s, on_step)

    async def _soak(self, soak_s: float, on_step: OnStep) -> None:
        for _ in range(round(soak_s / STEP_S)):
            await on_step(await self.heat())
            await self._head.settle(STEP_S)

    async def take_over(self) -> None:
        """Off, whatever they were at; what was on is kept in mind, in words."""
        self.found_on = aims_in_words(await self.heat())
        self.may_be_on = self.may_be_on or bool(self.found_on)
        await self.off()
        await self.heat()

    async def off(self) -> None:
        """All heaters off; one that refuses keeps no other on."""
        try:
            await self._orders.do("M104 S0")
        finally:
            await self._orders.do("M140 S0")
        self.may_be_on, self._bed_aim_c = False, 0.0

    async def off_if_possible(self) -> str | None:
        """All heaters off; gives what went wrong in words, None when nothing. Never fails."""
        try:
            async with asyncio.timeout(OFF_AFTER_HEAT_WITHIN_S if self.may_be_on else OFF_WITHIN_S):
                await self.off()
        except (HostctlError, TimeoutError) as problem:
            why = str(problem) or "it took too long"
            return f"the heaters could not be switched off: {why}"
        return None

    def _not_ours(self, heat: Heat) -> str:
        """`the nozzle to 200 °C`: what is heated though we did not order it; empty: nothing."""
        if heat.nozzle_target_c:
            return f"the nozzle to {heat.nozzle_target_c:.0f} °C"
        bed_c = heat.bed_target_c
        if bed_c and abs(bed_c - self._bed_aim_c) >= NEARLY_WARM_C:
            return f"the bed to {bed_c:.0f} °C"
        return ""

    async def _cool_now(self) -> Temperatures:
        heat = await self.heat()
        self._envelope.check_hands_safe(heat.nozzle_c, heat.bed_c)
        return heat.temperatures


def aims_in_words(heat: Heat) -> str:
    """Which heaters are on: `bed heating to 40 °C`; empty when none is."""
    aims = (("nozzle", heat.nozzle_target_c), ("bed", heat.bed_target_c))
    return ", ".join(f"{part} heating to {aim_c:.0f} °C" for part, aim_c in aims if aim_c)


def heat_in_words(heat: Heat) -> str:
    """`bed 38 °C, aims at 40 °C`; empty where nothing is warm and no heater on."""
    parts = (
        ("nozzle", heat.nozzle_c, heat.nozzle_target_c),
        ("bed", heat.bed_c, heat.bed_target_c),
    )
    return "; ".join(
        f"{part} {_shown(is_c)}, {f'aims at {aim_c:.0f} °C' if aim_c else 'its heater is off'}"
        for part, is_c, aim_c in parts
        if aim_c or (is_c is not None and is_c >= WARM_C)
    )


def _shown(is_c: float | None) -> str:
    return "at an unknown temperature" if is_c is None else f"{is_c:.0f} °C"


def _nearly(is_c: float | None, wanted_c: float) -> bool:
    return is_c is not None and is_c >= wanted_c - NEARLY_WARM_C
