"""An indicator on a cable that types what it shows, as a keyboard would, at a press of its button.

The cable is held alone: what it types goes to no console and answers nothing by itself.
"""

import asyncio
import errno
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from functools import partial

from hostctl.config.machine import Point
from hostctl.errors import ConfigError, PortError
from hostctl.gauges.gauge import GaugeParts, OnTrouble, OnValue
from hostctl.gauges.heard import heard
from hostctl.gauges.keyed_number import Keyed, KeyedNumber
from hostctl.gauges.plunger import bring_plunger, reading_there
from hostctl.gauges.spoken_number import MM_PER_UNIT
from hostctl.input_events.device import InputDevice, open_device
from hostctl.input_events.events import KeyDown
from hostctl.records import Position, Reading


class TypingIndicator:
    """It sends only where a person presses the button: `watch` hands the number over."""

    source = "typing indicator"
    typed = False
    sends_on_press = True
    live = True
    own_zero = False

    def __init__(
        self, parts: GaugeParts, open_device: Callable[[str], InputDevice] = open_device
    ) -> None:
        """Raises ConfigError where its device is missing."""
        settings = parts.settings
        if settings.device is None:
            advice = "Give the cable's own name under /dev/input/by-id."
            raise ConfigError(parts.where, "its device is missing", advice)
        self.resolution_mm = settings.resolution_mm
        self._path = settings.device
        self._where = f"indicator on {settings.device}"
        self._mm = MM_PER_UNIT[settings.line.unit]
        self._open_device = open_device
        self._settle_s = parts.cycle.settle_s
        self._machine = parts.machine
        self._now = parts.now
        self._device: InputDevice | None = None
        self._typing = KeyedNumber()
        self._on_keyed: list[Callable[[Keyed], None]] = []
        self._on_lost: list[Callable[[str], None]] = []

    async def bring(self, point: Point, above_mm: float = 0.0, *, slowly: bool = False) -> Position:
        """Bring the plunger down onto the bed at `point`."""
        await self._open()
        return await bring_plunger(self._machine, point, above_mm, self._settle_s, slowly=slowly)

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """What came by the press, with where the head was and how warm. ValueError when None."""
        if typed_mm is None:
            raise ValueError("a typing indicator's reading needs what came by the press")
        return await reading_there(self._machine, expected, typed_mm, of=self, taken_at=self._now())

    @asynccontextmanager
    async def watch(
        self, on_value: OnValue, on_trouble: OnTrouble = lambda _: None
    ) -> AsyncIterator[None]:
        """Each number that is sent from here on; one that had begun before is none."""
        async with heard(self._open, partial(self._until_lost, on_value, on_trouble), on_trouble):
            yield

    async def close(self) -> None:
        """Let go of the cable; the next `bring` takes it again."""
        device, self._device = self._device, None
        if device is not None:
            device.close()

    # ------------------------------------------------------------ the cable

    async def _open(self) -> None:
        """Nothing where it is open. Raises PortError."""
        if self._device is not None:
            return
        try:
            self._device = self._open_device(self._path)
        except OSError as cause:
            raise PortError(self._path, *_why_not_open(cause)) from cause
        self._typing = KeyedNumber()
        self._device.start(self._key, self._gone)

    def _key(self, key: KeyDown) -> None:
        for keyed in self._typing.key(key):
            for tell in tuple(self._on_keyed):
                tell(keyed)

    def _gone(self, why: OSError) -> None:
        self._device = None
        for tell in tuple(self._on_lost):
            tell(why.strerror or str(why))

    async def _until_lost(self, on_value: OnValue, on_trouble: OnTrouble) -> str:
        lost: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        since_s = self._device.clock() if self._device is not None else 0.0

        def on_keyed(keyed: Keyed) -> None:
            if keyed.begun_s <= since_s:
                return
            if keyed.number is None:
                on_trouble(f"{self._where}: {keyed.trouble}; press its button again")
            else:
                on_value(keyed.number * self._mm)

        self._on_keyed.append(on_keyed)
        self._on_lost.append(lost.set_result)
        try:
            return f"{self._where}: {await lost}; plug it in again"
        finally:
            self._on_keyed.remove(on_keyed)
            self._on_lost.remove(lost.set_result)


def _why_not_open(cause: OSError) -> tuple[str, str]:
    match cause.errno:
        case errno.ENOENT | errno.ENODEV | errno.ENXIO:
            return "there is no such device", "Plug the cable in, or correct 'device:'."
        case errno.EACCES | errno.EPERM:
            return "no permission to open it", "Join its group, usually 'input', and log in again."
        case errno.EBUSY:
            advice = "Close the program that does, or take it out of the host file's keys."
            return "it is held already", advice
        case errno.ENOTTY | errno.EINVAL:
            return "it is no input device", "Give the cable's own name under /dev/input/by-id."
        case _:
            return cause.strerror or str(cause), "See to the cable, or correct 'device:'."
