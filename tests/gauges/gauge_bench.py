"""A homed machine with one gauge on it, and an indicator that says lines."""

import asyncio
import errno
from collections.abc import Callable
from datetime import UTC, datetime
from typing import cast

from bench_files import machine_file
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Cycle
from hostctl.gauges.gauge import GaugeParts, gauge_for
from hostctl.gauges.typing_indicator import TypingIndicator
from hostctl.input_events.device import InputDevice
from hostctl.input_events.events import KeyDown
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


class Cable:
    """A cable that types, by a clock of its own."""

    def __init__(self) -> None:
        self.now_s = 100.0
        self.opened = 0
        self.there = True
        self._on_key: Callable[[KeyDown], None] = print
        self._on_gone: Callable[[OSError], None] = print

    def open(self, path: str) -> InputDevice:
        if not self.there:
            raise FileNotFoundError(errno.ENOENT, "No such file or directory")
        self.opened += 1
        return cast(InputDevice, self)

    def clock(self) -> float:
        return self.now_s

    def start(self, on_key: Callable[[KeyDown], None], on_gone: Callable[[OSError], None]) -> None:
        self._on_key, self._on_gone = on_key, on_gone

    def close(self) -> None:
        """Nothing is held."""

    def type(self, *codes: int) -> None:
        for code in codes:
            self.now_s += 0.01
            self._on_key(KeyDown(code=code, at_s=self.now_s))

    def pull(self) -> None:
        self.there = False
        self._on_gone(OSError(errno.ENODEV, "No such device"))


class Bench:
    """A homed machine and one gauge on it."""

    def __init__(
        self,
        talking: TalkingIndicator | None = None,
        file: MachineFile | None = None,
        cable: "Cable | None" = None,
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
        self.gauge = TypingIndicator(parts, cable.open) if cable else gauge_for(parts)

    def read(
        self,
        typed_mm: float | None = None,
        above_mm: float = 0.0,
        slowly: bool = False,
        before_it_is_read: Callable[[], None] = lambda: None,
    ) -> Reading:
        async def all_of_it() -> Reading:
            await self.machine.connect()
            self.machine.permit.give()
            await self.machine.home()
            self.printer.commands.clear()
            expected = await self.gauge.bring(self.point, above_mm, slowly=slowly)
            before_it_is_read()
            reading = await self.gauge.read(self.point, expected, typed_mm)
            await self.gauge.close()
            return reading

        return in_jumping_time(all_of_it())
