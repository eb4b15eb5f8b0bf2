"""A homed machine with one gauge on it, and an indicator that says lines."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime

from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Cycle
from hostctl.gauges.gauge import GaugeParts, gauge_for
from hostctl.machine.machine import Machine
from hostctl.records import Reading

NOW = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)


class TalkingIndicator:
    """A port that says lines, five a second, to whoever opened it."""

    def __init__(self, *lines: bytes) -> None:
        self.lines = lines
        self.closed = False
        self.asked: list[bytes] = []
        self.lost: Callable[[str], None] = print
        self._handles: list[asyncio.TimerHandle] = []

    async def open(self, url: str, baud: int) -> "TalkingIndicator":
        assert (url, baud) == ("/dev/indicator", 9600)
        return self

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        self.lost = on_lost
        loop = asyncio.get_running_loop()
        for number, line in enumerate(self.lines):
            say = on_lost if line == b"unplugged" else on_bytes
            said = "unplugged" if line == b"unplugged" else line
            self._handles.append(loop.call_later(number * 0.2 + 0.1, say, said))

    def write(self, data: bytes) -> None:
        self.asked.append(data)

    async def close(self) -> None:
        self.closed = True
        for handle in self._handles:
            handle.cancel()


class Bench:
    """A homed machine and one gauge on it."""

    def __init__(
        self,
        talking: TalkingIndicator | None = None,
        file: MachineFile | None = None,
        **gauge: object,
    ) -> None:
        self.printer = SmallPrinter()
        self.machine = Machine(file or machine_file(), self.printer)
        self.point = self.machine.config.points[0]
        parts = GaugeParts(
            settings=Gauge.model_validate(gauge, strict=False),
            cycle=Cycle(settle_s=2.0, probe_lift_mm=4.0),
            where="study 's', gauge",
            machine=self.machine,
            now=lambda: NOW,
            open_port=talking.open if talking else None,
        )
        self.gauge = gauge_for(parts)

    def read(
        self,
        typed_mm: float | None = None,
        above_mm: float = 0.0,
        before_it_is_read: Callable[[], None] = lambda: None,
    ) -> Reading:
        async def all_of_it() -> Reading:
            await self.machine.connect()
            self.machine.permit.give()
            await self.machine.home()
            self.printer.commands.clear()
            expected = await self.gauge.bring(self.point, above_mm)
            before_it_is_read()
            reading = await self.gauge.read(self.point, expected, typed_mm)
            await self.gauge.close()
            return reading

        return in_jumping_time(all_of_it())
