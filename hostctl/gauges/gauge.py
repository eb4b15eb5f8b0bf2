"""A gauge: where a reading comes from. It brings itself to the place, and gives one reading."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from hostctl.config.machine import Point
from hostctl.config.study import Study
from hostctl.machine.machine import Machine
from hostctl.plugins import Kind
from hostctl.records import Position, Reading


class BytePort(Protocol):
    """A port that only ever delivers; `hostctl.link.port.Port` is one."""

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        """Begin to deliver what comes in; `on_lost` is told once why no more will come."""
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
    """What a gauge is made from."""

    study: Study
    machine: Machine
    now: Callable[[], datetime]
    open_port: BytePortOpener | None = None  # for a gauge with a port of its own


class Gauge(Protocol):
    """One source of readings."""

    source: str
    """As it stands in each reading: "typed", "probe", "serial indicator"."""
    resolution_mm: float
    typed: bool
    """Whether a person reads it, and types what it shows."""
    own_zero: bool
    """Whether its zero is the machine's own: nobody sets it, and it survives homing."""

    async def bring(self, point: Point, above_mm: float = 0.0) -> Position:
        """Bring it over `point`, ready to read, `above_mm` higher than usual (a gauge block).

        Gives where the head must be when the reading is taken. Raises MachineError or LinkError.
        """
        ...

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """One reading; `typed_mm` is what the person typed, for a gauge that is `typed`.

        The position is asked for and compared first. Raises MachineError or LinkError.
        """
        ...

    async def close(self) -> None:
        """Let go of what it holds open."""
        ...


GAUGES: Kind[Callable[[GaugeParts], Gauge]] = Kind("hostctl.gauges")


def gauge_for(parts: GaugeParts) -> Gauge:
    """The gauge the study asks for. Raises PluginError when it is not installed or broken."""
    return GAUGES.find(parts.study.gauge.kind)(parts)
