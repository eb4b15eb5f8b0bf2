"""The machine's own probe: brought over a place, and let down until it feels the bed."""

from collections.abc import Callable

from hostctl.config.machine import Machine as MachineFile
from hostctl.machine.controller.orders import Orders
from hostctl.machine.dialects.dialect import Dialect
from hostctl.machine.envelope import Envelope
from hostctl.machine.head import Head
from hostctl.machine.permit import Permit
from hostctl.machine.position import far_apart_mm
from hostctl.machine.signals.signals import Signals
from hostctl.machine.touch import TOUCHING, Touch, check_not_too_deep, no_touch, probe_in, touch_of
from hostctl.observers import Observers
from hostctl.records import Position

TRIES = 3
"""So many touches without a height in a row are a fault, where a study says nothing else."""


class Probing:
    """The probe of one machine. Raises MachineError and LinkError, as moves do."""

    def __init__(
        self,
        file: MachineFile,
        orders: Orders,
        head: Head,
        envelope: Envelope,
        permit: Permit,
        signals: Signals,
        spoken: Callable[[], Dialect],
    ) -> None:
        """spoken: the dialect; it is known only once the machine is connected."""
        self.on_no_height: Observers[Touch] = Observers()
        """Told of each touch that gave no height; it is done again."""
        self._file = file
        self._orders = orders
        self._head = head
        self._envelope = envelope
        self._permit = permit
        self._signals = signals
        self._spoken = spoken

    def is_over(self, x_mm: float, y_mm: float) -> bool:
        """Whether its tip is over the place already."""
        x_mm, y_mm = self.nozzle_over(x_mm, y_mm)
        at = self._head.known()
        there = Position(x_mm=x_mm, y_mm=y_mm, z_mm=at.z_mm)
        return far_apart_mm(at, there) <= self._file.position_tolerance_mm

    def nozzle_over(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Where the nozzle is while the tip is over a place."""
        probe = probe_in(self._file)
        return x_mm - probe.offset_x_mm, y_mm - probe.offset_y_mm

    async def touch(
        self, x_mm: float, y_mm: float, lift_mm: float, proven: str | None, tries: int
    ) -> float:
        """See `Machine.probe`; the tip is over the place."""
        probe = probe_in(self._file)
        for _ in range(tries):
            began_z_mm = self._head.known().z_mm
            await self._signals.check_before_touch(proven)
            touch = await self._touch(x_mm, y_mm)
            lifted_z_mm = min(began_z_mm, self._head.known().z_mm + lift_mm)
            await self._head.rise(lifted_z_mm)
            if touch.height_mm is not None:
                async with self._head.at_stake():
                    check_not_too_deep(self._orders.where, touch, probe.deepest_z_mm)
                return touch.height_mm
            self.on_no_height.tell(touch)
        await self._head.rise(self._envelope.clear_z_mm)
        raise no_touch(self._orders.where, touch, tries)

    async def _touch(self, x_mm: float, y_mm: float) -> Touch:
        self._permit.check()
        at, dialect = self._head.known(), self._spoken()
        self._envelope.check_spot(at.x_mm, at.y_mm)
        async with self._head.at_stake():
            reply = await self._orders.attempt(dialect.probe(x_mm, y_mm), **TOUCHING)
            await self._orders.do("M400", **TOUCHING)
            now_at = await self._orders.position()
            expected = Position(x_mm=at.x_mm, y_mm=at.y_mm, z_mm=now_at.z_mm)
            self._head.found_at(await self._head.check_at(expected))
        return touch_of(reply, dialect, x_mm, y_mm)
