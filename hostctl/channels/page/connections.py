"""The connections to the page: how many there may be, and what is answered to what is no HTTP.

Whoever opens connections and says nothing must not use up what the serial line and the database
need: each connection is an open file of this process. A stranger's nonsense gets a bare refusal,
and no line in the log.
"""

import asyncio
import ssl
from typing import cast

from aiohttp import web

from hostctl.channels.page import guards

MOST = 192
MOST_AN_ADDRESS = 48  # a browser opens up to six
IDLE_S = 30.0  # without a whole request, also at the start
HANDSHAKE_S = 10.0
FAREWELL_S = 1.0  # of TLS, which some never answer
LONGEST_HEADER = 4096


class Connections:
    """Makes the protocol of each connection that comes in."""

    def __init__(self, server: web.Server) -> None:
        self._server = server
        self._open: dict[asyncio.Transport, str] = {}  # each with the address it comes from

    async def listen(
        self, address: str, port: int, tls: ssl.SSLContext | None
    ) -> asyncio.AbstractServer:
        """Listen there. Raises OSError when that can't be."""
        return await asyncio.get_running_loop().create_server(
            lambda: _Connection(self, self._server),
            address,
            port,
            ssl=tls,
            ssl_handshake_timeout=HANDSHAKE_S if tls else None,
            ssl_shutdown_timeout=FAREWELL_S if tls else None,
        )

    def admit(self, transport: asyncio.Transport) -> bool:
        """Whether one more may come from there; it is kept when so."""
        address = str((transport.get_extra_info("peername") or ("",))[0])
        from_there = list(self._open.values()).count(address)
        if len(self._open) >= MOST or from_there >= MOST_AN_ADDRESS:
            return False
        self._open[transport] = address
        return True

    def release(self, transport: asyncio.Transport) -> None:
        """It has gone, if it was admitted."""
        self._open.pop(transport, None)

    def abort(self) -> None:
        """End them all, without a farewell that nobody may answer (TLS waits for one)."""
        for transport in list(self._open):
            transport.abort()


class _Connection(web.RequestHandler):
    __slots__ = ("_connections", "_line")

    def __init__(self, connections: Connections, server: web.Server) -> None:
        super().__init__(
            server,
            loop=asyncio.get_running_loop(),
            access_log=None,  # type: ignore[arg-type]  # none: as its own runner passes it
            keepalive_timeout=IDLE_S,
            max_line_size=LONGEST_HEADER,
            max_field_size=LONGEST_HEADER,
            auto_decompress=False,  # our page packs nothing
        )
        self._connections = connections

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._line = cast(asyncio.Transport, transport)
        if self._connections.admit(self._line):
            super().connection_made(transport)
        else:
            self._line.abort()

    def connection_lost(self, exc: BaseException | None) -> None:
        self._connections.release(self._line)
        super().connection_lost(exc)

    def handle_error(
        self,
        request: web.BaseRequest,
        status: int = 500,
        exc: BaseException | None = None,
        message: str | None = None,
    ) -> web.StreamResponse:
        """What is no HTTP is refused without an echo; a fault of ours is logged as ever."""
        if status >= 500:
            return super().handle_error(request, status, exc, message)
        response = guards.refusal(status, "that is not understood")
        response.headers.update(guards.HEADERS)
        response.force_close()
        return response
