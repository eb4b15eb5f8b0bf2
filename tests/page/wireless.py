"""The wireless between a phone and the page's server, as a relay that can be cut.

The browser's own pretended outage now and then leaves a stream that is open untouched.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager


class Wireless:
    """Carries what comes to its port to the server's, both ways."""

    def __init__(self, server_url: str) -> None:
        self._server_port = int(server_url.rpartition(":")[2])
        self._is_cut = False
        self._open: set[asyncio.StreamWriter] = set()

    @asynccontextmanager
    async def on_the_air(self) -> AsyncIterator[str]:
        """The address under which the server is found here."""
        async with await asyncio.start_server(self._carry, "127.0.0.1", 0) as listening:
            try:
                yield f"http://127.0.0.1:{listening.sockets[0].getsockname()[1]}"
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
        if self._is_cut:
            writer.transport.abort()
            return
        onward = await asyncio.open_connection("127.0.0.1", self._server_port)
        ends = {writer, onward[1]}
        if self._is_cut:  # meanwhile
            for end in ends:
                end.transport.abort()
            return
        self._open |= ends
        try:
            await asyncio.gather(pass_on(reader, onward[1]), pass_on(onward[0], writer))
        finally:
            self._open -= ends


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
