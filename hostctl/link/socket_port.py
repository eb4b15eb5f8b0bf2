"""`socket://host:port`: a serial line carried over TCP."""

import asyncio
import socket
from urllib.parse import urlsplit

from hostctl.errors import PortError
from hostctl.link.descriptor_port import DescriptorPort
from hostctl.link.port import PortSettings

_CONNECT_S = 5.0


async def open_socket(url: str, settings: PortSettings) -> DescriptorPort:
    """Connect to the host and port that `url` names. Raises PortError. Has no baud rate."""
    host, number = _address(url)
    try:
        async with asyncio.timeout(_CONNECT_S):
            connection = await _connected(host, number)
    except TimeoutError as cause:
        raise PortError(
            url, "the host does not answer", "See that it is on and on this network."
        ) from cause
    except OSError as cause:
        what = f"no connection ({cause.strerror})"
        raise PortError(url, what, "See that host and port are right and served.") from cause
    return DescriptorPort(url, connection.fileno(), connection.close)


def _address(url: str) -> tuple[str, int]:
    try:
        parts = urlsplit(url)
        if parts.hostname and parts.port:
            return parts.hostname, parts.port
    except ValueError:
        pass  # a port that is no number: the same advice
    raise PortError(url, "host and port are not both there", "Write socket://host:port.")


async def _connected(host: str, number: int) -> socket.socket:
    loop = asyncio.get_running_loop()
    family, kind, protocol, _, address = (
        await loop.getaddrinfo(host, number, type=socket.SOCK_STREAM)
    )[0]
    connection = socket.socket(family, kind, protocol)
    try:
        connection.setblocking(False)
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        await loop.sock_connect(connection, address)
    except BaseException:
        connection.close()
        raise
    return connection
