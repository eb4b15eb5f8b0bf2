"""An indicator that sends lines of text, each with a number, on a serial line of its own."""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from functools import partial

from hostctl.config.machine import Point
from hostctl.errors import ConfigError, MachineError
from hostctl.gauges.gauge import GaugeParts, OnTrouble, OnValue
from hostctl.gauges.heard import heard
from hostctl.gauges.indicator_port import IndicatorPort, Listener
from hostctl.gauges.plunger import bring_plunger, reading_there
from hostctl.gauges.settling import Settling
from hostctl.gauges.spoken_number import number_of
from hostctl.records import Position, Reading

GRADUATIONS_APART = 2.5
"""So much at least the reading differs from what a free plunger shows: a plunger that is pressed in
by less tells of no bed (choice ours)."""
TELL_LAST = 6
"""So many of the last lines stand in an error."""


class SerialIndicator:
    """Read once its number stands still: lines that began before it was asked are not heard."""

    source = "serial indicator"
    typed = False
    sends_on_press = False
    live = True
    own_zero = False

    def __init__(self, parts: GaugeParts) -> None:
        """Raises ConfigError where its port is missing."""
        settings = parts.settings
        if settings.port is None or parts.open_port is None:
            raise ConfigError(
                parts.where, "its port is missing", "Give the indicator's own serial port."
            )
        self.resolution_mm = settings.resolution_mm
        self._where = f"indicator on {settings.port}"
        self._settings = settings
        self._port = IndicatorPort(
            settings.port, settings.baud, parts.open_port, settings.line.request
        )
        self._number = number_of(settings.line)
        self._free_mm: float | None = None  # None: not known
        self._may_hang = parts.may_hang
        self._settle_s = parts.cycle.settle_s
        self._machine = parts.machine
        self._now = parts.now

    async def bring(self, point: Point, above_mm: float = 0.0, *, slowly: bool = False) -> Position:
        """Bring the plunger down onto the bed at `point`."""
        await self._port.open()
        return await bring_plunger(
            self._machine,
            point,
            above_mm,
            self._settle_s,
            slowly=slowly,
            while_free=self._hanging_free(),
        )

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """The number it settles at. Raises MachineError when it does not, or it goes away."""
        await self._machine.check_at(expected)
        value_mm = await self._settled_mm()
        self._check_pressed(value_mm)
        return await reading_there(self._machine, expected, value_mm, of=self, taken_at=self._now())

    @asynccontextmanager
    async def watch(
        self, on_value: OnValue, on_trouble: OnTrouble = lambda _: None
    ) -> AsyncIterator[None]:
        """Each number it sends, as it comes."""
        async with heard(
            self._port.open, partial(self._until_lost, on_value, on_trouble), on_trouble
        ):
            yield

    async def close(self) -> None:
        """Close its port; the next `bring` opens it again."""
        await self._port.close()

    # ------------------------------------------------------------ a settled reading

    @contextmanager
    def _hanging_free(self) -> Iterator[None]:
        """What it shows meanwhile, if it says so in time: nothing is waited for."""
        free: list[float | None] = []
        self._free_mm = None
        with self._port.listening(
            Listener(lambda line: free.append(self._number(line)), lambda _: None)
        ):
            yield
        if len(free) > 1:  # the first line may have begun before
            self._free_mm = free[-1]

    def _check_pressed(self, value_mm: float) -> None:
        """Raises MachineError where it shows what it showed with its plunger hanging free."""
        within_mm = GRADUATIONS_APART * self.resolution_mm
        if (
            not self._may_hang
            and self._free_mm is not None
            and abs(value_mm - self._free_mm) < within_mm
        ):
            raise MachineError(
                self._where,
                f"it shows {value_mm:g} mm, as when its plunger hung free: its number stands "
                "still, or the plunger does not reach the bed here",
                "See its display, and whether the bed is too low here.",
            )

    async def _settled_mm(self) -> float:
        settling, within_s = Settling.by(self._settings), self._settings.line.within_s
        lines: deque[str] = deque(maxlen=TELL_LAST)
        settled: asyncio.Future[float] = asyncio.get_running_loop().create_future()
        began_before = True

        def on_line(line: str) -> None:
            nonlocal began_before
            if began_before or settled.done():
                began_before = False
                return
            lines.append(line)
            if (value_mm := settling.saw(self._number(line))) is not None:
                settled.set_result(value_mm)

        def on_lost(why: str) -> None:
            if not settled.done():
                settled.set_exception(MachineError(self._where, why, "Plug it in again."))

        await self._port.open()
        try:
            with self._port.listening(Listener(on_line, on_lost)):
                async with asyncio.timeout(within_s):
                    return await settled
        except TimeoutError as late:
            raise self._not_settled(list(lines)) from late

    def _not_settled(self, lines: list[str]) -> MachineError:
        line = self._settings.line
        within = f"within {line.within_s:g} s"
        if not lines:
            sends = "takes this request" if line.request else "is set to send by itself"
            return MachineError(
                self._where, f"it sent nothing {within}", f"See that it is on, and {sends}."
            )
        if not any(self._number(each) is not None for each in lines):
            what = f"no number in what it sent {within}: {_told(lines)}"
            return MachineError(self._where, what, "See its display, or mend 'gauge.line'.")
        what = f"not {line.alike} numbers in a row alike {within}; the last lines: {_told(lines)}"
        return MachineError(
            self._where, what, "See what moves it, or mend alike and within_s of 'gauge.line'."
        )

    # ------------------------------------------------------------ watched

    async def _until_lost(self, on_value: OnValue, on_trouble: OnTrouble) -> str:
        lost: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        told = ""

        def on_line(line: str) -> None:
            nonlocal told
            value_mm = self._number(line)
            if value_mm is not None:
                told = ""
                on_value(value_mm)
            elif not told:
                told = f"{self._where}: no number in {_told([line])}"
                on_trouble(told)

        def on_lost(why: str) -> None:
            if not lost.done():
                lost.set_result(f"{self._where}: {why}")

        with self._port.listening(Listener(on_line, on_lost)):
            return await lost


def _told(lines: list[str]) -> str:
    return ", ".join(repr(line) for line in lines)
