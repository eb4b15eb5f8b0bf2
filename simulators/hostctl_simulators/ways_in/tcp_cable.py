"""A TCP port as the printer's cable: one connection at a time, each resets the board."""

import asyncio

from hostctl_simulators.pace import Pacer
from hostctl_simulators.simulated_printer import SimulatedPrinter


class TcpCable(asyncio.Protocol):
    """One connection. Taken already, or the cable pulled: closed at once."""

    def __init__(
        self, printer: SimulatedPrinter, pacer: Pacer, *, reset_on_open: bool = True
    ) -> None:
        self._printer = printer
        self._pacer = pacer
        self._reset = reset_on_open
        self._transport: asyncio.Transport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Somebody connects."""
        assert isinstance(transport, asyncio.Transport)
        self._pacer.catch_up()
        try:
            self._printer.connect(transport.write, self._lose, reset=self._reset)
        except ConnectionError:
            transport.close()
        else:
            self._transport = transport

    def data_received(self, data: bytes) -> None:
        """Bytes for the printer."""
        if self._transport is not None:
            self._pacer.catch_up()
            self._printer.write(data)

    def connection_lost(self, exc: Exception | None) -> None:
        """The other side has gone."""
        if self._transport is not None:
            self._transport = None
            self._printer.disconnect()

    def _lose(self, why: str) -> None:
        if self._transport is not None:
            transport, self._transport = self._transport, None
            transport.abort()


async def serve_tcp(
    printer: SimulatedPrinter, pacer: Pacer, host: str, port: int, *, reset_on_open: bool = True
) -> tuple[asyncio.Server, int]:
    """Listen; port 0 takes a free one. Gives the server and the port it has."""
    loop = asyncio.get_running_loop()
    server = await loop.create_server(
        lambda: TcpCable(printer, pacer, reset_on_open=reset_on_open), host, port
    )
    return server, int(server.sockets[0].getsockname()[1])
