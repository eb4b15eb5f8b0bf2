"""The machine's own touch probe. Nobody is asked."""

from hostctl.config.machine import Point
from hostctl.config.parts.loop import Loop
from hostctl.gauges.gauge import GaugeParts, unwatched
from hostctl.records import Position, Reading


class ProbeGauge:
    """One touch a reading; its value is the height of the touch above the machine's own zero."""

    source = "probe"
    typed = False
    sends_on_press = False
    live = False
    own_zero = True
    watch = staticmethod(unwatched)

    def __init__(self, parts: GaugeParts) -> None:
        probe = parts.machine.config.probe
        self.resolution_mm = probe.resolution_mm if probe else parts.settings.resolution_mm
        self._cycle = parts.cycle
        self._loop = parts.loop or Loop()
        self._machine = parts.machine
        self._now = parts.now

    async def bring(self, point: Point, above_mm: float = 0.0, *, slowly: bool = False) -> Position:
        """Bring the probe's tip over `point` and let it settle; the touch itself is the reading.

        `above_mm` and `slowly` say nothing to it: the controller's own touch is slow, and ends
        where the bed is.
        """
        await self._machine.come_with_probe(point.x_mm, point.y_mm)
        await self._machine.settle(self._cycle.settle_s)
        return await self._machine.where()

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """Touch, and rise again. No heater may be on but by our own order."""
        at = await self._machine.check_at(expected)
        temperatures = await self._machine.heaters.check_calm("before a touch")
        height_mm = await self._machine.probe(
            point.x_mm,
            point.y_mm,
            lift_mm=self._cycle.probe_lift_mm,
            proven=self._loop.probe_out,
            tries=self._loop.failures_in_row,
        )
        return Reading(
            value_mm=height_mm,
            resolution_mm=self.resolution_mm,
            taken_at=self._now(),
            source=self.source,
            at=at,
            temperatures=temperatures,
        )

    async def close(self) -> None:
        """Nothing is open."""
