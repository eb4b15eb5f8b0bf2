"""The connections to the page: how many there may be, and what is answered to what is no HTTP.

Whoever opens connections and says nothing must not use up what the serial line and the database
need: each connection is an open file of this process. A stranger's nonsense gets a bare refusal,
and no line in the log.
"""

import asyncio
import ssl
from collections import Counter
from typing import cast

from aiohttp import web

from hostctl.channels.page import guards

MOST = 192
MOST_AN_ADDRESS = 48  # a browser opens up to six
IDLE_S = 30.0  # without a whole request, also at the start
HANDSHAKE_S = 10.0
LONGEST_HEADER = 4096


class Connections:
    """Makes the protocol of each connection that comes in."""

    def __init__(self, server: web.Server) -> None:
        self._server = server
        self._open: Counter[str] = Counter()

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
        )

    def admit(self, address: str) -> bool:
        """Whether one more may come from this address; it is counted when so."""
        if self._open.total() >= MOST or self._open[address] >= MOST_AN_ADDRESS:
            return False
        self._open[address] += 1
        return True

    def release(self, address: str) -> None:
        """One that was admitted has gone."""
        self._open[address] -= 1
        if not self._open[address]:
            del self._open[address]


class _Connection(web.RequestHandler):
    __slots__ = ("_address", "_connections")

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
        self._address: str | None = None  # None: not admitted

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        address = str((transport.get_extra_info("peername") or ("",))[0])
        if self._connections.admit(address):
            self._address = address
            super().connection_made(transport)
        else:
            cast(asyncio.Transport, transport).abort()

    def connection_lost(self, exc: BaseException | None) -> None:
        if self._address is not None:
            self._connections.release(self._address)
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
