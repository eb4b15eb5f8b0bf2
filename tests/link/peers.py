"""The far end of the line: the model controller, in memory or behind a pseudo-terminal."""

import asyncio
import contextlib
import os
import tty
from collections.abc import Callable

from model_controller import ModelController

from hostctl.errors import PortError
from hostctl.link.link import Link
from hostctl.link.patience import Patience
from hostctl.link.port import Port, PortSettings
from hostctl.link.serial_port import open_serial

BRISK = Patience(
    quiet_s=0.01,
    settle_s=0.05,
    listen_s=0.02,
    hush_s=0.01,
    boot_s=60.0,
    greet_s=30.0,
    look_s=0.02,
)
"""Short where it is waited out: on a pseudo-terminal it really passes. What would end in a fault is
long, so that no computer is too slow for it."""


async def until(condition: Callable[[], bool]) -> None:
    """Let the loop run until `condition`; the test's own time limit ends it otherwise."""
    while not condition():  # noqa: ASYNC110 - what is waited for sets no event
        await asyncio.sleep(0.001)


class Peer:
    """A controller that a test can bend.

    `garble` damages what it hears, `reply` rewords its answer, `pieces` cuts what it says.
    """

    url = "peer"

    def __init__(self) -> None:
        self.loop = asyncio.get_running_loop()
        self.controller = ModelController()
        self.heard = b""
        self.reply: Callable[[list[str]], list[str]] = lambda lines: lines
        self.garble: Callable[[bytes], bytes] = lambda data: data
        self.pieces: Callable[[bytes], list[bytes]] = lambda data: [data]

    def link(self, **options: object) -> Link:
        """A link to this peer, not yet connected."""
        settings = PortSettings(baud=250_000)
        return Link(self.url, settings, open_port=self.open, patience=BRISK, **options)  # type: ignore[arg-type]

    async def open(self, url: str, settings: PortSettings) -> Port:
        """The near end."""
        raise NotImplementedError

    def hear(self, data: bytes) -> None:
        """Bytes from the host: what a controller does with them."""
        self.heard += data
        for line in data.split(b"\n"):
            self.controller.sent_for_real.add(line)
        lines = self.reply(self.controller.feed(self.garble(data)))
        self.say("".join(line + "\n" for line in lines).encode("latin-1"))

    def say(self, data: bytes) -> None:
        """Bytes to the host, cut as `pieces` likes."""
        for piece in self.pieces(data) if data else []:
            self.send(piece)

    def send(self, data: bytes) -> None:
        raise NotImplementedError

    def unplug(self) -> None:
        raise NotImplementedError

    def plug_in(self) -> None:
        raise NotImplementedError


class MemoryPeer(Peer):
    """No operating system in between."""

    def __init__(self) -> None:
        super().__init__()
        self.plugged = True
        self.port: MemoryPort | None = None

    async def open(self, url: str, settings: PortSettings) -> Port:
        if not self.plugged:
            raise PortError(url, "there is no such port", "Plug it in.")
        self.port = MemoryPort(self)
        return self.port

    def send(self, data: bytes) -> None:
        if self.port is not None:
            self.loop.call_soon(self.port.deliver, data)

    def unplug(self) -> None:
        self.plugged = False
        port, self.port = self.port, None
        if port is not None:
            self.loop.call_soon(port.lose)

    def plug_in(self) -> None:
        self.plugged = True
        self.controller.reset()


class MemoryPort:
    """Implements `Port`."""

    name = "memory"

    def __init__(self, peer: MemoryPeer) -> None:
        self._peer = peer
        self._open = True

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        self._on_bytes, self._on_lost = on_bytes, on_lost

    def write(self, data: bytes) -> None:
        if self._open:
            self._peer.loop.call_soon(self._peer.hear, data)

    async def close(self) -> None:
        self._open = False

    def deliver(self, data: bytes) -> None:
        if self._open:
            self._on_bytes(data)

    def lose(self) -> None:
        if self._open:
            self._open = False
            self._on_lost("the port has gone")


class PtyPeer(Peer):
    """A real tty between the two ends."""

    def __init__(self) -> None:
        super().__init__()
        self.master = -1
        self.plug_in()

    async def open(self, url: str, settings: PortSettings) -> Port:
        return await open_serial(self.url, settings)

    def send(self, data: bytes) -> None:
        os.write(self.master, data)

    def read_on(self) -> None:
        """Read what the host wrote, from now on."""
        self.loop.add_reader(self.master, self._readable)

    def stop_reading(self) -> None:
        """Stall: the host's bytes pile up."""
        self.loop.remove_reader(self.master)

    def unplug(self) -> None:
        if self.master >= 0:
            self.stop_reading()
            os.close(self.master)
            self.master = -1

    def plug_in(self) -> None:
        self.master, slave = os.openpty()
        tty.setraw(slave)
        self.url = os.ttyname(slave)
        os.close(slave)
        os.set_blocking(self.master, False)
        self.controller.reset()
        self.read_on()

    def _readable(self) -> None:
        with contextlib.suppress(BlockingIOError, OSError):  # EIO: the near end is not open
            self.hear(os.read(self.master, 4096))
