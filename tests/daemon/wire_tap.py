"""Stands in the line between the daemon and a printer on TCP, and knows what the printer said."""

import queue
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from select import select


class WireTap:
    """What came from the printer, in pieces as it came."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.pieces: queue.Queue[bytes] = queue.Queue()

    def until_printer_says(self, what: bytes, patience_s: float) -> None:
        """Wait for it. Raises queue.Empty when nothing more is said for so long."""
        heard = b""
        while what not in heard:
            heard += self.pieces.get(timeout=patience_s)


@contextmanager
def tapped(printer_url: str) -> Iterator[WireTap]:
    """The tap in front of `socket://host:port`; its own url is what the daemon is to be given."""
    host, _, port = printer_url.removeprefix("socket://").rpartition(":")
    with socket.create_server(("127.0.0.1", 0)) as server:
        tap = WireTap(f"socket://127.0.0.1:{server.getsockname()[1]}")
        relay = threading.Thread(target=_relay, args=(server, (host, int(port)), tap), daemon=True)
        relay.start()
        yield tap


def _relay(server: socket.socket, printer_at: tuple[str, int], tap: WireTap) -> None:
    """One connection, both ways, until either end closes it."""
    with server.accept()[0] as host, socket.create_connection(printer_at) as printer:
        other_end = {host: printer, printer: host}
        with suppress(ConnectionError):  # another way for an end to be closed
            while True:
                for end in select([host, printer], [], [])[0]:
                    data = end.recv(4096)
                    if not data:
                        return
                    other_end[end].sendall(data)
                    if end is printer:
                        tap.pieces.put(data)
