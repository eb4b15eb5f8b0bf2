"""The machine at hand: connected, homed, moved a little at a time, each time on somebody's word."""

import asyncio
import math
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from functools import partial

from hostctl.begin.bench.so_far import machine_so_far
from hostctl.begin.facts import Facts
from hostctl.begin.talk import BackAsked, Talk
from hostctl.config.machine import Machine as MachineFile
from hostctl.deeds import ClearBed, Deed, ReadIndicator
from hostctl.drafts.question import Question, Value
from hostctl.errors import HostctlError
from hostctl.link.link import Link
from hostctl.link.reply import Greeting
from hostctl.machine.machine import Machine
from hostctl.records import Position

COUNTDOWN_S = 3
REPLUG_S = 30.0
HALT_GOES_OUT_S = 0.3
"""So long the port stays open after a halt, for the last of it to reach the board (choice ours)."""
ABOVE_BED_MM = 1.0
"""So far the nozzle stays above where the bed may be (choice ours)."""

HANDS_IN = ClearBed()
EYES_ALONE = ReadIndicator()

LinkFor = Callable[[MachineFile], Link]


class Again(Exception):
    """What was asked or measured does not hold together: its step begins anew. Says why."""


class Bench:
    """One machine at the end of one line, connected when a step needs it."""

    def __init__(self, talk: Talk, link_for: LinkFor) -> None:
        """link_for: the line of a machine file, not open yet."""
        self.talk = talk
        self.greeting: Greeting | None = None
        """What the controller said of itself when it was connected last."""
        self.shown_free_mm: float | None = None
        """What the indicator showed in this sitting with its plunger free; None: not asked yet."""
        self.homed_bare = False
        """Whether it was homed last with nothing on the head."""
        self._link_for = link_for
        self._machine: Machine | None = None
        self._open = AsyncExitStack()

    @property
    def machine(self) -> Machine:
        """The machine. Raises RuntimeError before `connect`."""
        if self._machine is None:
            raise RuntimeError("no machine is connected")
        return self._machine

    @property
    def homed(self) -> bool:
        """Whether it is connected and its head's position is known."""
        return self._machine is not None and self._machine.homed

    async def connect(self, facts: Facts) -> None:
        """Open the port that the person named, if it is not open; moves nothing.

        Raises HostctlError.
        """
        file = machine_so_far(facts)
        if self._machine is not None and file == self._machine.config:
            if not self._machine.ours or self._machine.halted_by is not None:
                await self.talk.say(
                    f"Connecting anew; for the port it waits {REPLUG_S:g} s at most."
                )
                self.greeting = await self._machine.connect(REPLUG_S)
            return
        await self.close()
        link = self._link_for(file)
        await self._open.enter_async_context(link.running())
        self._machine = Machine(file, link)
        try:
            self.greeting = await self._machine.connect()
        except HostctlError:
            await self.close()
            raise

    async def close(self) -> None:
        """Left safe: no motion, heaters off, the port let go."""
        machine, self._machine = self._machine, None
        if machine is not None:
            if machine.halted_by is not None:
                await asyncio.sleep(HALT_GOES_OUT_S)
            elif machine.connected:
                await machine.make_safe()
            machine.let_go()
        await self._open.aclose()

    # ------------------------------------------------------------ asked, nothing moving

    async def ask(self, question: Question, deed: Deed = HANDS_IN) -> Value:
        """Ask while nothing may move; hands may be in the machine."""
        with self.machine.permit.withdrawn_for(deed):
            return await self.talk.ask(question)

    async def look(self, question: Question) -> Value:
        """As `ask`, where eyes alone are wanted."""
        return await self.ask(question, EYES_ALONE)

    async def answers(self, *questions: Question) -> list[Value]:
        """One after the other; `back` asks the one before again. Raises BackAsked at the first."""
        given: list[Value] = []
        while len(given) < len(questions):
            try:
                given.append(await self.ask(questions[len(given)]))
            except BackAsked:
                if not given:
                    raise
                given.pop()
        return given

    async def lengths_mm(self, *questions: Question) -> list[float]:
        """As `answers`, for numbers of millimetres."""
        return [_number(value) for value in await self.answers(*questions)]

    async def length_mm(self, question: Question, deed: Deed = HANDS_IN) -> float:
        """As `ask`, for a number of millimetres."""
        return _number(await self.ask(question, deed))

    async def ask_to_move(self, question: Question, moves: str) -> Value:
        """Ask for what lets something move; it does once `moving` is entered after it."""
        with self.machine.permit.withdrawn_for(HANDS_IN):
            return await self.talk.ask_to_move(question, moves)

    async def length_to_move(self, question: Question, moves: str) -> float:
        """As `ask_to_move`, for a number of millimetres that is read by eyes alone."""
        with self.machine.permit.withdrawn_for(EYES_ALONE):
            return _number(await self.talk.ask_to_move(question, moves))

    # ------------------------------------------------------------ moved, on an answer just given

    @asynccontextmanager
    async def moving(self, what: str, *, at_once: bool = False) -> AsyncIterator[Machine]:
        """Motion is allowed within, after a countdown; at_once: a short step, one of a series.

        Raises NotNow where it is called off, and what a motion raises.
        """
        machine = self.machine
        if not at_once:
            await self.talk.countdown(what, COUNTDOWN_S)
        machine.permit.give()
        try:
            async with self.talk.moving(what, partial(machine.halt, "terminal")):
                yield machine
        finally:
            machine.permit.withdraw("nothing is to move")

    async def home(self) -> Position:
        """Home all axes; gives where the head is then: at its homing place, lifted clear."""
        self.homed_bare = False  # who sees that nothing is on the head says so
        async with self.moving("The head rises, then all axes home.") as machine:
            await machine.home()
        return await machine.where()

    async def over(
        self, x_mm: float, y_mm: float, what: str, *, down_to_mm: float = math.inf
    ) -> None:
        """Up, then slowly across until the nozzle is over the place, and down there where asked.

        down_to_mm: to this height, or to the floor where that is higher.
        """
        async with self.moving(what) as machine:
            await machine.lift()
            await machine.pass_slowly(x_mm, y_mm)
            z_mm = max(down_to_mm, machine.envelope.lowest_z_mm)
            if z_mm < (await machine.where()).z_mm:
                await machine.lower_to(z_mm, slowly=True)

    async def lower(self, z_mm: float, what: str, *, at_once: bool = False) -> None:
        """Straight down, slowly, to `z_mm`, or to the floor where that is higher."""
        async with self.moving(what, at_once=at_once) as machine:
            await machine.lower_to(max(z_mm, machine.envelope.lowest_z_mm), slowly=True)

    async def rise(self, z_mm: float, what: str, *, at_once: bool = False) -> None:
        """Straight up to `z_mm`."""
        async with self.moving(what, at_once=at_once) as machine:
            await machine.rise_to(z_mm)

    async def z_mm(self) -> float:
        """How high the nozzle stands, asked now."""
        return (await self.machine.where()).z_mm

    # ------------------------------------------------------------ what bounds its motion

    def know(self, facts: Facts) -> None:
        """How far the plunger hangs, and where the bed may be, as far as that is known."""
        envelope = self.machine.envelope
        if "hangs_mm" in facts:
            envelope.hangs_mm = facts.number("hangs_mm")
        if "found.bed_below_mm" in facts:
            self.bed_lies_below(facts.number("found.bed_below_mm"))

    def bed_lies_below(self, z_mm: float) -> None:
        """The bed lies nowhere above `z_mm`: so the nozzle stays 1 mm above that."""
        self.machine.envelope.floor_z_mm = round(z_mm + ABOVE_BED_MM, 2)

    @property
    def floor_z_mm(self) -> float:
        """Lower the nozzle does not go."""
        return self.machine.envelope.lowest_z_mm


def _number(value: Value) -> float:
    if not isinstance(value, int | float):
        raise TypeError(f"{value!r} is no number")
    return float(value)
