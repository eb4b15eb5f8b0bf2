"""A gauge: where a reading comes from. It brings itself to the place, and gives one reading."""

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from hostctl.config.machine import Point
from hostctl.config.parts.gauge import Gauge as Settings
from hostctl.config.parts.loop import Loop
from hostctl.config.study import Cycle
from hostctl.machine.machine import Machine
from hostctl.plugins import Kind
from hostctl.records import Position, Reading

OnValue = Callable[[float], None]
OnTrouble = Callable[[str], None]


class BytePort(Protocol):
    """A port of a gauge's own; `hostctl.link.port.Port` is one."""

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        """Begin to deliver what comes in; `on_lost` is told once why no more will come."""
        ...

    def write(self, data: bytes) -> None:
        """Send `data`. Never blocks, never raises."""
        ...

    async def close(self) -> None:
        """Let go of the port."""
        ...


class BytePortOpener(Protocol):
    """Opens a port by its url and rate; given in by whoever may know of ports."""

    async def __call__(self, url: str, baud: int) -> BytePort:
        """Raises PortError when the port can't be opened."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeParts:
    """What a gauge is made from. settings: its section; where: which one, of which study; loop: of
    a probe loop.
    may_hang: whether a plunger that hangs free is read too, since whoever asks can tell.
    """

    settings: Settings
    cycle: Cycle
    where: str
    machine: Machine
    now: Callable[[], datetime]
    open_port: BytePortOpener | None = None  # for a gauge with a port of its own
    may_hang: bool = False
    loop: Loop | None = None


class Gauge(Protocol):
    """One source of readings. All its values are in mm, of whatever sign it shows."""

    source: str
    """As it stands in each reading: "typed", "probe", "serial indicator", "typing indicator"."""
    resolution_mm: float
    typed: bool
    """Whether a person reads it, and types what it shows."""
    sends_on_press: bool
    """Whether a person presses a button for each value that it sends: `watch` hands it over."""
    live: bool
    """Whether `watch` tells what it shows, with nothing moving."""
    own_zero: bool
    """Whether its zero is the machine's own: nobody sets it, and it survives homing."""

    async def bring(self, point: Point, above_mm: float = 0.0, *, slowly: bool = False) -> Position:
        """Bring it over `point`, ready to read, `above_mm` higher than usual (a gauge block).

        slowly: all the way down, where the bed may be higher than it was. Gives where the head
        must be when the reading is taken. Raises MachineError, LinkError or PortError.
        """
        ...

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """One reading; `typed_mm` is what the person typed, or what came by a press.

        The position is asked for and compared, before it is read and after. Raises MachineError
        or LinkError.
        """
        ...

    def watch(
        self, on_value: OnValue, on_trouble: OnTrouble = lambda _: None
    ) -> AbstractAsyncContextManager[None]:
        """While it is entered, `on_value` is given each value that it shows, mm; nothing moves.

        on_trouble: is told in words of what came that is no value, and of a gauge that went away;
        one that comes back is heard again. A gauge that is not `live` tells nothing. Raises
        PortError on entering where it can't be opened.
        """
        ...

    async def close(self) -> None:
        """Let go of what it holds open."""
        ...


@asynccontextmanager
async def unwatched(
    on_value: OnValue, on_trouble: OnTrouble = lambda _: None
) -> AsyncIterator[None]:
    """The `watch` of a gauge that is not `live`."""
    yield


GAUGES: Kind[Callable[[GaugeParts], Gauge]] = Kind("hostctl.gauges")


def gauge_for(parts: GaugeParts) -> Gauge:
    """The gauge its settings ask for. Raises PluginError when it is not installed or broken."""
    return GAUGES.find(parts.settings.kind)(parts)
