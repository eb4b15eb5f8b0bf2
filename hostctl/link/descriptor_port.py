"""A port over a file descriptor that the event loop can watch: a tty or a socket."""

import asyncio
import os
from collections.abc import Callable

_PIECE = 4096


class DescriptorPort:
    """Implements `Port`. Reads and writes never block, so a peer that stalls freezes nothing."""

    def __init__(self, name: str, descriptor: int, release: Callable[[], None]) -> None:
        """descriptor: open and non-blocking. release: gives it back, once, at the end."""
        self.name = name
        self._descriptor = descriptor
        self._release = release
        self._loop = asyncio.get_running_loop()
        self._unsent = b""
        self._open = True
        self._on_bytes: Callable[[bytes], None]
        self._on_lost: Callable[[str], None]

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        """Begin to deliver what comes in."""
        self._on_bytes, self._on_lost = on_bytes, on_lost
        self._loop.add_reader(self._descriptor, self._readable)

    def write(self, data: bytes) -> None:
        """Send `data`; what the other end does not take now is sent when it does."""
        if not self._open:
            return
        if self._unsent:
            self._unsent += data
            return
        self._unsent = data[self._written(data) :]
        if self._unsent:
            self._loop.add_writer(self._descriptor, self._writable)

    async def close(self) -> None:
        """Let go of the port. May be called more than once."""
        self._let_go()

    def _readable(self) -> None:
        try:
            data = os.read(self._descriptor, _PIECE)
        except (BlockingIOError, InterruptedError):
            return
        except OSError as cause:
            self._lose(f"the port has gone ({cause.strerror})")
            return
        if data:
            self._on_bytes(data)
        else:
            self._lose("the port has gone (the other end closed it)")

    def _written(self, data: bytes) -> int:
        try:
            return os.write(self._descriptor, data)
        except (BlockingIOError, InterruptedError):
            return 0
        except OSError as cause:
            self._loop.call_soon(self._lose, f"the port has gone ({cause.strerror})")
            return len(data)

    def _writable(self) -> None:
        self._unsent = self._unsent[self._written(self._unsent) :]
        if not self._unsent and self._open:
            self._loop.remove_writer(self._descriptor)

    def _lose(self, why: str) -> None:
        if self._open:
            self._let_go()
            self._on_lost(why)

    def _let_go(self) -> None:
        if self._open:
            self._open = False
            self._loop.remove_reader(self._descriptor)
            self._loop.remove_writer(self._descriptor)
            self._release()
