"""The head of one machine: where it is, as far as is known, and how it gets elsewhere.

Where it is counts as known from homing on, until anything goes wrong; each move is closed by asking
where the head is.
"""

import math
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from hostctl.config.machine import Machine as MachineFile
from hostctl.errors import MachineError
from hostctl.machine.controller.orders import Orders, end_of
from hostctl.machine.envelope import Envelope, Move, Vertical
from hostctl.machine.permit import Permit
from hostctl.machine.position import elsewhere, far_apart_mm
from hostctl.machine.signals.signals import Signals
from hostctl.records import Position

LOOKS = 3
ITS_TURN = "It connects and homes before it goes on."


class Head:
    """Raises MachineError and LinkError, as the orders do; then its position is not known."""

    def __init__(
        self,
        file: MachineFile,
        orders: Orders,
        envelope: Envelope,
        permit: Permit,
        signals: Signals,
    ) -> None:
        self._file = file
        self._orders = orders
        self._envelope = envelope
        self._permit = permit
        self._signals = signals
        self._at: Position | None = None
        self.losses = 0
        """How often its position was lost: another count, another homing."""
        self.ordered_z_mm = 0.0
        """The height it was last sent to, and proven to be at; finer than what is reported."""

    @property
    def homed(self) -> bool:
        """Whether its position is known."""
        return self._at is not None

    def known(self) -> Position:
        """Where it is. Raises MachineError where that is not known."""
        if self._at is None:
            raise MachineError(self._orders.where, "its position is not known", ITS_TURN)
        return self._at

    def found_at(self, at: Position) -> None:
        """It is here: homing or a look proved it."""
        self._at, self.ordered_z_mm = at, at.z_mm

    def lose(self) -> None:
        """Its position is not known any more."""
        self._at = None
        self.losses += 1

    @asynccontextmanager
    async def at_stake(self) -> AsyncIterator[None]:
        """Its position is lost with whatever goes wrong meanwhile."""
        try:
            yield
        except BaseException:  # a cancelled wait too: nobody saw how the order ended
            self.lose()
            raise

    async def go(self, moves: list[Move]) -> None:
        """Make the moves, each permitted, inside the envelope, and proved afterwards.

        The door is looked at before the first.
        """
        if moves:
            await self._look_before_moving()
        for move in moves:
            self._permit.check()
            await self._make(move)

    async def step(self, move: Vertical, close_mm: float) -> None:
        """As `go`, one move, whose height is proved to be closer than `close_mm`."""
        await self._look_before_moving()
        self._permit.check()
        await self._make(move, close_mm)

    async def rise(self, z_mm: float) -> None:
        """Straight up to `z_mm`, which may be allowed where no other motion is.

        The door is not looked at: up is away from whatever is on the bed.
        """
        for move in self._envelope.up(self.known(), z_mm):
            self._permit.check_rising()
            await self._make(move)

    async def settle(self, settle_s: float) -> None:
        """Stand still for `settle_s` seconds of the controller's own clock."""
        if settle_s > 0:
            async with self.at_stake():
                await self._orders.do(f"G4 P{settle_s * 1000:.0f}", takes_s=settle_s)
                await self._orders.do("M400", takes_s=settle_s)

    async def where(self) -> Position:
        """Where it is, asked now."""
        async with self.at_stake():
            return await self._orders.position()

    async def check_at(
        self, expected: Position, objection: str = "", close_mm: float = math.inf
    ) -> Position:
        """Where it is, which must be `expected`. objection: what the machine said before.

        close_mm: its height must be closer than this. Raises MachineError when it is elsewhere, and
        its position is lost. A report may be damaged on the way, so a wrong one is asked for again
        before it is believed.
        """
        for _ in range(LOOKS):
            at = await self.where()
            near = far_apart_mm(at, expected) <= self._file.position_tolerance_mm
            if near and abs(at.z_mm - expected.z_mm) < close_mm - 1e-6:
                return at
        self.lose()
        raise elsewhere(self._orders.where, self._file.travel, at, expected, objection)

    async def _look_before_moving(self) -> None:
        """Nothing is asked where no motion is allowed; while it is asked, it may be forbidden."""
        self._permit.check()
        await self._signals.check_door()

    async def _make(self, move: Move, close_mm: float = math.inf) -> None:
        at = self.known()
        self._envelope.check(move, at)
        async with self.at_stake():
            objection = await self._orders.move(move, at)
            expected = end_of(move, at)
            self._at = await self.check_at(expected, objection, close_mm)
            self.ordered_z_mm = expected.z_mm
