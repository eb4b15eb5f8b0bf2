"""`sim://NAME?seed=7`: a simulated printer in this process, behind the same door as a serial port.

`sim://NAME/indicator?seed=7&noise_mm=0.01` is the indicator of that printer.

The same url opened again after closing is the same world with its board rebooted.
"""

import asyncio
from urllib.parse import urlsplit

from hostctl.deeds import Deed
from hostctl.errors import PortError
from hostctl.link.port import PortSettings
from hostctl_simulators.pace import Pacer
from hostctl_simulators.people.unattended import Unattended
from hostctl_simulators.registry import INDICATOR, find_printer, find_readout
from hostctl_simulators.simulated_printer import OnBytes, OnLost, SimulatedPrinter
from hostctl_simulators.ways_in.indicator_port import SimIndicatorPort


class SimPort:
    """An open port to a simulated printer.

    Implements `Port` and `SimulatedIndicator` of `hostctl.link.port`.
    """

    def __init__(self, name: str, printer: SimulatedPrinter, *, reset: bool) -> None:
        self.name = name
        self._printer = printer
        self._loop = asyncio.get_running_loop()
        self._on_bytes: OnBytes | None = None
        self._on_lost: OnLost | None = None
        self._waiting: list[bytes] = []
        self._lost = False
        self._closed = False
        self._unattended = Unattended(printer.world)
        printer.connect(self._deliver, self._lose, reset=reset)
        self._pacer = Pacer(printer.agenda, printer.description.speed)

    def start(self, on_bytes: OnBytes, on_lost: OnLost) -> None:
        """Begin to deliver what comes in."""
        self._on_bytes, self._on_lost = on_bytes, on_lost
        self._loop.call_soon(self._flush)

    def write(self, data: bytes) -> None:
        """Send `data`."""
        if not self._closed and not self._lost:
            self._unattended.finish()
            self._pacer.catch_up()
            self._printer.write(data)

    async def close(self) -> None:
        """Let go of the port; simulated time goes on only while the cable is out."""
        if self._closed:
            return
        self._closed = True
        self._unattended.finish()
        if not self._lost:
            self._printer.disconnect()
            self._pacer.stop()

    def shows_mm(self) -> float | None:
        """What the indicator shows; None where none is fitted."""
        world = self._printer.world
        return world.read_indicator() if world.carries_indicator else None

    def turn_to_zero(self) -> None:
        """Bring the indicator to zero, unless somebody did since its plunger came down."""
        world = self._printer.world
        if world.indicator is not None and world.carries_indicator and not world.indicator.zeroed:
            world.zero_indicator()

    def contact_closed(self) -> bool:
        """Whether the lamp is lit."""
        return self._printer.world.contact_closed()

    def do(self, deed: Deed) -> str:
        """Do what belongs to a tie, where nobody stands at the printer; what is seen, in words."""
        world = self._printer.world
        return "" if world.attended else self._unattended.do(deed)

    def _deliver(self, data: bytes) -> None:
        self._waiting.append(data)
        self._flush()

    def _flush(self) -> None:
        if self._on_bytes is not None and not self._closed:
            waiting, self._waiting = self._waiting, []
            for data in waiting:
                self._on_bytes(data)

    def _lose(self, why: str) -> None:
        """The pacer runs on, so that the cable can be plugged in again."""
        self._lost = True
        if self._on_lost is not None and not self._closed:
            self._loop.call_soon(self._on_lost, why)


async def open_sim_port(url: str, settings: PortSettings) -> SimPort | SimIndicatorPort:
    """Open `sim://…`. Raises PortError for a bad url, a pulled cable or a port already taken.

    The board reboots with each opening, whatever the settings ask, as many real boards do.
    """
    try:
        if urlsplit(url).path == INDICATOR:
            return SimIndicatorPort(url, find_readout(url))
        return SimPort(url, find_printer(url), reset=True)
    except (ValueError, ConnectionError) as cause:
        raise PortError(
            url, str(cause), "Look at the printer's url or its simulated cable."
        ) from cause
