"""The ways of the head across the bed, each high up."""

from hostctl.config.machine import Point
from hostctl.config.parts.loop import Side
from hostctl.machine.machine import Machine


class Ways:
    """Of one machine. Each raises what a move may raise."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine

    async def over(self, point: Point) -> None:
        """The nozzle over a point."""
        await self._machine.lift()
        await self._machine.go_over(point.x_mm, point.y_mm)

    async def come_from(self, point: Point, side: Side | None, by_mm: float) -> None:
        """The probe's tip over a point, from one side where one is given."""
        if side is None:
            await self._machine.come_with_probe(point.x_mm, point.y_mm)
        else:
            x_mm, y_mm = self._machine.probing.nozzle_over(point.x_mm, point.y_mm)
            await self._machine.come_from(x_mm, y_mm, side, by_mm)

    async def plunger_over(self, point: Point) -> None:
        """The indicator's plunger over a point."""
        indicator = self._machine.config.indicator
        await self._machine.lift()
        if indicator is not None:
            x_mm, y_mm = point.x_mm - indicator.offset_x_mm, point.y_mm - indicator.offset_y_mm
            await self._machine.go_over(x_mm, y_mm)
