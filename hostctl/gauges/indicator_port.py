"""The serial line of an indicator: lines come in; one that is to be asked is asked."""

import asyncio
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from hostctl.gauges.gauge import BytePort, BytePortOpener
from hostctl.gauges.lines import Lines

BETWEEN_S = 0.05
"""Between an answer and the next request."""
ASK_AGAIN_S = 1.0
"""A request that brought no line within this is sent again."""


@dataclass(frozen=True, slots=True)
class Listener:
    """Whoever is told each whole line, and once why no more will come."""

    on_line: Callable[[str], None]
    on_lost: Callable[[str], None]


class IndicatorPort:
    """Opened when it is first needed, and again after it went away."""

    def __init__(self, url: str, baud: int, open_port: BytePortOpener, request: str | None) -> None:
        self._url, self._baud, self._open = url, baud, open_port
        self._request = request.encode("ascii") if request else b""
        self._port: BytePort | None = None
        self._lines = Lines()
        self._listeners: list[Listener] = []
        self._due: asyncio.TimerHandle | None = None

    async def open(self) -> None:
        """Nothing where it is open. Raises PortError."""
        if self._port is None:
            self._port = await self._open(self._url, self._baud)
            self._lines = Lines()
            self._port.start(self._take, self._lost)

    async def close(self) -> None:
        """It can be opened again."""
        port, self._port = self._port, None
        if port is not None:
            await port.close()

    @contextmanager
    def listening(self, listener: Listener) -> Iterator[None]:
        """While this is entered each line is told, and the indicator asked where it waits for it.

        The line that comes first may have begun before.
        """
        self._listeners.append(listener)
        if self._due is None:
            self._ask()
        try:
            yield
        finally:
            self._listeners.remove(listener)
            if not self._listeners:
                self._ask_in(None)

    def _ask(self) -> None:
        if self._request and self._port is not None:
            self._port.write(self._request)
            self._ask_in(ASK_AGAIN_S)

    def _ask_in(self, wait_s: float | None) -> None:
        """None: no more."""
        if self._due is not None:
            self._due.cancel()
            self._due = None
        if wait_s is not None:
            self._due = asyncio.get_running_loop().call_later(wait_s, self._ask)

    def _take(self, data: bytes) -> None:
        for line in self._lines.feed(data):
            if self._due is not None:
                self._ask_in(BETWEEN_S)
            for listener in tuple(self._listeners):
                listener.on_line(line)

    def _lost(self, why: str) -> None:
        self._port = None
        self._ask_in(None)
        for listener in tuple(self._listeners):
            listener.on_lost(why)
