"""An indicator that sends lines of text, each with a number, on a serial line of its own."""

import asyncio

from hostctl.config.machine import Point
from hostctl.errors import ConfigError, MachineError
from hostctl.gauges.gauge import BytePort, GaugeParts
from hostctl.gauges.plunger import bring_plunger
from hostctl.gauges.spoken_number import number_in
from hostctl.records import Position, Reading

NEXT_LINE_S = 5.0
LONGEST_LINE = 200


class SerialIndicator:
    """Takes the first whole line that begins after the reading was asked for."""

    source = "serial indicator"
    typed = False
    own_zero = False

    def __init__(self, parts: GaugeParts) -> None:
        settings = parts.study.gauge
        if settings.port is None or parts.open_port is None:
            raise ConfigError(
                f"study '{parts.study.study}'",
                "gauge.port is missing",
                "Give the indicator's own serial port.",
            )
        self.resolution_mm = settings.resolution_mm
        self._url, self._baud, self._open = settings.port, settings.baud, parts.open_port
        self._settle_s = parts.study.cycle.settle_s
        self._machine = parts.machine
        self._now = parts.now
        self._port: BytePort | None = None
        self._rest = b""
        self._line: asyncio.Future[str] | None = None

    async def bring(self, point: Point, above_mm: float = 0.0) -> Position:
        """Bring the plunger down onto the bed at `point`."""
        if self._port is None:
            self._port = await self._open(self._url, self._baud)
            self._port.start(self._take, self._lost)
        return await bring_plunger(self._machine, point, above_mm, self._settle_s)

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """The next number it sends. Raises MachineError when none comes, or it goes away."""
        at = await self._machine.check_at(expected)
        return Reading(
            value_mm=await self._next_number_mm(),
            resolution_mm=self.resolution_mm,
            taken_at=self._now(),
            source=self.source,
            at=at,
            temperatures=await self._machine.check_cool(),
        )

    async def close(self) -> None:
        """Close its port; the next `bring` opens it again."""
        port, self._port = self._port, None
        if port is not None:
            await port.close()

    async def _next_number_mm(self) -> float:
        try:
            async with asyncio.timeout(NEXT_LINE_S):
                await self._next_line()  # it may have begun before the plunger was at rest
                while (value_mm := number_in(await self._next_line())) is None:
                    pass
        except TimeoutError as late:
            raise self._silent(f"it sent no number in {NEXT_LINE_S:g} s") from late
        return value_mm

    async def _next_line(self) -> str:
        self._line = asyncio.get_running_loop().create_future()
        return await self._line

    def _take(self, data: bytes) -> None:
        *whole, rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        self._rest = rest[-LONGEST_LINE:]
        for line in filter(None, whole):
            if self._line is not None and not self._line.done():
                self._line.set_result(line.decode("ascii", "replace"))

    def _lost(self, why: str) -> None:
        self._port = None
        if self._line is not None and not self._line.done():
            self._line.set_exception(self._silent(why))

    def _silent(self, why: str) -> MachineError:
        return MachineError(
            f"indicator on {self._url}", why, "See that it is on and set to send continuously."
        )
