"""The watch over a run: what arrives while no prompt is open must stop it all the same."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import ExitStack, asynccontextmanager, contextmanager

from hostctl.errors import HostctlError, LinkError, MachineError
from hostctl.machine.machine import Machine
from hostctl.news import Answer, Word
from hostctl.run.desk import Desk
from hostctl.run.holds.breaks import EndAsked, HoldAsked

HEAT_LOOK_S = 5.0
"""So often somebody whose hands may be in is kept from a part that heats up."""

LOOK_S = 0.25
"""A pause looks up this often, so that a hold or a fault ends it within a moment."""

Sleep = Callable[[float], Awaitable[object]]


class Watch:
    """Hears `hold`, `end` and faults at any time; `check` raises what was heard.

    What is heard also takes back the permit to move at once, so that the present move is the last:
    it is short, at most one sideways move or a millimetre of the slow descent, and ends where it
    was meant to; so the position stays known, which a stop in mid-move would cost.
    """

    def __init__(self, desk: Desk, machine: Machine, sleep: Sleep = asyncio.sleep) -> None:
        self._desk = desk
        self._machine = machine
        self._sleep = sleep
        self._stop: Answer | None = None
        self._fault: HostctlError | None = None
        self._heat_was_told = False

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Meanwhile hear what must stop the run."""
        with ExitStack() as heard:
            heard.callback(self._desk.on_stop.add(self._hear_stop))
            heard.callback(self._machine.on_fault.add(self._hear_fault))
            yield

    def check(self) -> None:
        """Raises the fault, HoldAsked or EndAsked that was heard, once."""
        fault, stop = self._fault, self._stop
        self._fault = self._stop = None
        if fault is not None:
            raise fault
        if stop is not None and stop.word is Word.END:
            raise EndAsked(stop, hands_may_be_in=False)
        if stop is not None:
            raise HoldAsked(stop)

    def forget_fault(self) -> None:
        """A fault that was raised by other means needs no second telling."""
        self._fault = None

    @asynccontextmanager
    async def over_heat(self) -> AsyncIterator[None]:
        """Meanwhile look calmly at the heat, since hands may be in: what is wrong is a fault."""
        looking = asyncio.create_task(self._look_at_heat(), name="calm look at the heat")
        try:
            yield
        finally:
            looking.cancel()
            await asyncio.wait([looking])

    def hold_lifted(self) -> None:
        """Heat is a fault again from now on: within one hold it is told once."""
        self._heat_was_told = False

    async def _look_at_heat(self) -> None:
        while True:
            await self._sleep(HEAT_LOOK_S)
            if not self._machine.ours:
                continue
            try:
                await self._machine.heaters.check_calm()
            except LinkError:
                continue  # the machine tells of it itself
            except MachineError as hot:
                if not self._heat_was_told:
                    self._heat_was_told = True
                    self._hear_fault(hot)
            else:
                self._heat_was_told = False

    async def pause(self, seconds: float) -> None:
        """Wait, unless something is heard: then raises it within a moment."""
        left_s = seconds
        while left_s > 0:
            self.check()
            await self._sleep(min(LOOK_S, left_s))
            left_s -= LOOK_S
        self.check()

    def _hear_stop(self, answer: Answer) -> None:
        if self._stop is None or answer.word is Word.END:
            self._stop = answer
        self._machine.permit.withdraw(f"{answer.word} was said on {answer.channel}")

    def _hear_fault(self, fault: HostctlError) -> None:
        self._fault = fault
        self._desk.withdraw(fault)
