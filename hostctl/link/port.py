"""A port: where bytes go out and come in. Found by its scheme through the plug-in door.

A bare path (`/dev/serial/by-id/…`) is a serial port; otherwise the scheme names the plug-in:
`socket://host:port`, `sim://…`, or a stranger's.
"""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from hostctl.deeds import Deed
from hostctl.plugins import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSettings:
    """How to open a port; a port without a rate or a reset line ignores what it hasn't got."""

    baud: int = 115200
    reset_on_open: bool = False
    """Reset the board on purpose. False asks that it be left alone, which not every board heeds:
    after each opening the machine counts as rebooted all the same."""


class Port(Protocol):
    """An open port. All its methods are called, and all it calls are called, in the event loop."""

    name: str
    """As a user would write it."""

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        """Begin to deliver what comes in. Called once, before the first write.

        on_bytes: is given each piece as it comes, however it was cut.
        on_lost: is told once, in words, why no more will come; not called after `close`.
        Neither may be called from within `start` or `write`.
        """

    def write(self, data: bytes) -> None:
        """Send `data` after all that was written before. Never blocks, never raises.

        If the other end does not read, the port keeps the rest and sends it when it can.
        """

    async def close(self) -> None:
        """Let go of the port. May be called more than once."""


@runtime_checkable
class SimulatedIndicator(Protocol):
    """What a port to a simulated machine has besides: what nobody could see or do there else."""

    def shows_mm(self) -> float | None:
        """What it shows now, to its own graduations; None where none is fitted."""
        ...

    def turn_to_zero(self) -> None:
        """As a hand does at its bezel; nothing where one did since the plunger came down."""
        ...

    def contact_closed(self) -> bool:
        """Whether the lamp is lit that tells of contact between nozzle and plate."""
        ...

    def do(self, deed: Deed) -> str:
        """Do what belongs to a tie, as hands would; what they then see, in words. Nothing, and
        empty, for other deeds and where simulated people do it."""
        ...


PortOpener = Callable[[str, PortSettings], Awaitable[Port]]
"""Opens the port with this url, scheme included. Raises PortError if it can't."""

PORTS: Kind[PortOpener] = Kind("hostctl.ports")


async def open_port(url: str, settings: PortSettings) -> Port:
    """Open the port that `url` names.

    Raises PortError (unknown, taken, not permitted) or PluginError (no such scheme).
    """
    scheme, separator, _ = url.partition("://")
    return await PORTS.find(scheme if separator else "serial")(url, settings)
