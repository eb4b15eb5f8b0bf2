"""The connections to the page: how many there may be, who goes first, what is answered to no HTTP.

Whoever opens connections and says nothing must neither use up what the serial line and the
database need nor stand before a paired phone that wants to stop a machine. A connection is a
stranger's until a request on it shows a session; from then on no stranger takes its place. A
stranger's nonsense gets a bare refusal, and no line in the log.
"""

import asyncio
import socket
import ssl
from collections.abc import Callable
from typing import cast

from aiohttp import web

from hostctl.channels.handles import are_short
from hostctl.channels.page.access import guards
from hostctl.channels.page.access.allowance import Allowance
from hostctl.channels.page.access.places import Places, origin

STRANGERS = 64
PAIRED = 128  # a browser opens up to six
ORIGINS = 64  # that are known to have a paired phone
COME_AT_ONCE = 64  # from one origin without a paired phone
COME_A_SECOND = 8
IDLE_S = 30.0  # without a whole request, also at the start
HANDSHAKE_S = 10.0
FAREWELL_S = 1.0  # of TLS, which some never answer
LONGEST_HEADER = 4096


class Connections:
    """All that are open."""

    def __init__(
        self, server: web.Server, tls: ssl.SSLContext | None, clock: Callable[[], float]
    ) -> None:
        """`clock`: elapsed seconds."""
        self._server = server
        self._tls = tls
        self._strangers = Places[Connection](STRANGERS)
        self._paired = Places[Connection](PAIRED)
        self._origins: dict[str, None] = {}  # where paired phones are, the least recent first
        self._comings = Allowance(clock, at_once=COME_AT_ONCE, a_second=COME_A_SECOND)

    def take_in(self, line: socket.socket, address: str) -> bool:
        """One that has come: given a stranger's place, or closed at once. Whether it may stay."""
        holder = origin(address)
        welcome = holder in self._origins or self._comings.take(holder)
        if not welcome or (are_short() and not self.make_room()):
            line.close()
            return False
        connection = Connection(self, self._server, holder)
        _end(self._strangers.take(connection, holder))
        connection.open(line, self._tls)
        return True

    def make_room(self) -> bool:
        """Let a stranger go, if there is one."""
        return _end(self._strangers.give_up())

    def recognise(self, connection: "Connection", session: str) -> None:
        """A request on it has shown a session."""
        self._origins.pop(connection.origin, None)
        self._origins[connection.origin] = None
        if len(self._origins) > ORIGINS:
            del self._origins[next(iter(self._origins))]
        if connection not in self._paired:
            self._strangers.leave(connection)
            _end(self._paired.take(connection, session))

    def release(self, connection: "Connection") -> None:
        """It has gone."""
        self._strangers.leave(connection)
        self._paired.leave(connection)

    def abort(self) -> None:
        """End them all, without a farewell that nobody may answer (TLS waits for one)."""
        for connection in [*self._strangers, *self._paired]:
            connection.end()


class Connection(web.RequestHandler):
    """One of them, from when it is taken in."""

    __slots__ = ("_connections", "_line", "_opening", "origin")

    def __init__(self, connections: Connections, server: web.Server, origin: str) -> None:
        """`origin`: where it comes from, as `places.origin` gives it."""
        super().__init__(
            server,
            loop=asyncio.get_running_loop(),
            access_log=None,  # type: ignore[arg-type]  # none: as its own runner passes it
            keepalive_timeout=IDLE_S,
            max_line_size=LONGEST_HEADER,
            max_field_size=LONGEST_HEADER,
            auto_decompress=False,  # our page packs nothing
        )
        self.origin = origin
        self._connections = connections
        self._line: asyncio.Transport | None = None
        self._opening: asyncio.Task[object] | None = None

    def open(self, line: socket.socket, tls: ssl.SSLContext | None) -> None:
        """Begin to talk, over TLS where there is a context."""
        self._opening = asyncio.create_task(
            asyncio.get_running_loop().connect_accepted_socket(
                lambda: self,
                line,
                ssl=tls,
                ssl_handshake_timeout=HANDSHAKE_S if tls else None,
                ssl_shutdown_timeout=FAREWELL_S if tls else None,
            ),
            name="phone page: connection",
        )

        def opened(opening: asyncio.Task[object]) -> None:
            if opening.cancelled() or opening.exception() is not None:
                line.close()
                self._connections.release(self)

        self._opening.add_done_callback(opened)

    def end(self) -> None:
        """End it without a word."""
        if self._line is not None:
            self._line.abort()
        elif self._opening is not None:
            self._opening.cancel()

    def belongs_to(self, session: str) -> None:
        """A request on it has shown this session."""
        self._connections.recognise(self, session)

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """The library's callback."""
        self._line = cast(asyncio.Transport, transport)
        super().connection_made(transport)

    def connection_lost(self, exc: BaseException | None) -> None:
        """The library's callback."""
        self._connections.release(self)
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


def _end(connection: Connection | None) -> bool:
    if connection is not None:
        connection.end()
    return connection is not None
