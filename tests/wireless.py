"""The way to a server on this computer, as a relay that can be cut.

A browser's own pretended outage now and then leaves a stream that is open untouched; a server that
is started again is there for all at once, in an order that nobody can tell.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager


class Wireless:
    """Carries what comes to its port to the server's, both ways."""

    def __init__(self, server_port: int) -> None:
        self._server_port = server_port
        self._is_cut = False
        self._open: set[asyncio.StreamWriter] = set()

    @asynccontextmanager
    async def on_the_air(self) -> AsyncIterator[int]:
        """The port at which the server is found here."""
        async with await asyncio.start_server(self._carry, "127.0.0.1", 0) as listening:
            try:
                yield int(listening.sockets[0].getsockname()[1])
            finally:
                self.cut()

    def cut(self) -> None:
        """What is open breaks off, and nothing new comes through."""
        self._is_cut = True
        for writer in self._open:
            writer.transport.abort()

    def mend(self) -> None:
        self._is_cut = False

    async def _carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        onward = await self._onward()
        if onward is None:
            writer.transport.abort()
            return
        ends = {writer, onward[1]}
        self._open |= ends
        try:
            await asyncio.gather(pass_on(reader, onward[1]), pass_on(onward[0], writer))
        finally:
            self._open -= ends

    async def _onward(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter] | None:
        """A connection to the server; None: it is not there, or the way is cut."""
        if self._is_cut:
            return None
        try:
            onward = await asyncio.open_connection("127.0.0.1", self._server_port)
        except OSError:
            return None
        if self._is_cut:  # meanwhile
            onward[1].transport.abort()
            return None
        return onward


async def pass_on(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    """Until one end goes away; then the other end goes too."""
    try:
        while data := await reader.read(65536):
            writer.write(data)
            await writer.drain()
    except OSError:
        pass  # it was cut
    finally:
        writer.close()
