"""Somebody stays while the bed is heated: asked again and again, and off where nobody answers."""

import asyncio

from hostctl.choices import COLD
from hostctl.config.study import Study
from hostctl.errors import MachineError
from hostctl.machine.machine import Machine
from hostctl.run.asking import Asking
from hostctl.run.procedures.looping.verdicts import left_cold, was_left_cold
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps import loop_words

EVERY_S = 900.0
"""So often somebody says that they are there, while a heater may be on (choice ours)."""

WITHIN_S = 60.0
"""So soon; else the heaters go off (choice ours)."""


class NobodyThere(MachineError):
    """Nobody said in time that they are there. The heaters are off; the position is still known."""


class Presence:
    """Of one run, by the event loop's clock."""

    def __init__(
        self,
        *,
        study: Study,
        machine: Machine,
        asking: Asking,
        journal: Journal,
        progress: Progress,
    ) -> None:
        self._heats = study.loop is not None and study.loop.heat is not None
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._progress = progress
        self._said_s: float | None = None
        self._heat_was_said_at = 0  # how often it had stood still then

    async def check(self) -> None:
        """Ask, where a heater may be on and nobody was heard for long. Raises NobodyThere."""
        now_s = asyncio.get_running_loop().time()
        if self._said_s is None or not self._machine.heaters.may_be_on:
            self._said_s = now_s
        if now_s - self._said_s < EVERY_S:
            return
        try:
            async with asyncio.timeout(WITHIN_S):
                await self._asking.ask(loop_words.say_present())
        except TimeoutError:
            await self._cool(f"nobody said within {WITHIN_S:g} s that they are there")
        self._said_s = asyncio.get_running_loop().time()

    async def say_heat_again(self) -> None:
        """After each hold, and after a stop, of a loop that heats: whether it may do so again.

        The heaters are off while it is asked. What leaves it cold is kept as a decision.
        """
        if not self._heats:
            return
        so_far = self._progress.so_far
        if so_far.breaks == self._heat_was_said_at or was_left_cold(so_far.decisions):
            return
        if self._machine.ours:
            await self._machine.heaters.off()
        answer, _ = await self._asking.ask(loop_words.say_heat_again())
        self._heat_was_said_at = so_far.breaks
        self._said_s = asyncio.get_running_loop().time()
        if answer.choice == COLD:
            decision = left_cold(answer.channel, so_far.trials_done)
            await self._journal.keep_decision(decision)
            self._progress.decide(decision)

    async def _cool(self, what: str) -> None:
        self._said_s = None
        problem = await self._machine.heaters.off_if_possible()
        off = problem or "all heaters are off"
        await self._journal.note("heaters off", problem or what)
        raise NobodyThere(
            f"machine '{self._machine.config.machine}'",
            f"{what}; {off}",
            "Go on only when somebody stays with it.",
        ) from None
