"""What systemd is told: ready, status, alive, stopping (sd_notify(3)). Without it, nothing."""

import asyncio
import os
import socket
import time
from collections.abc import Awaitable, Callable
from contextlib import suppress

from hostctl.channels.beat import next_beat
from hostctl.errors import StoreError


class Notify:
    """A datagram a message, to the socket that systemd named in the environment."""

    def __init__(self, environment: dict[str, str] | None = None) -> None:
        known = dict(os.environ) if environment is None else environment
        self._address = known.get("NOTIFY_SOCKET", "")
        if self._address.startswith("@"):  # an abstract name
            self._address = "\0" + self._address[1:]
        self.alive_every_s = _watchdog_s(known)
        """How often `alive` is due; None: nobody watches."""
        self._status = ""

    def ready(self) -> None:
        """The configuration is valid and the store is open. Machines may be away all the same."""
        self._tell("READY=1")

    def reloading(self) -> None:
        """The configuration is being read again; `ready` follows."""
        self._tell(f"RELOADING=1\nMONOTONIC_USEC={time.monotonic_ns() // 1000}")

    def stopping(self) -> None:
        """An orderly stop has begun."""
        self._tell("STOPPING=1")

    def alive(self) -> None:
        """All is well."""
        self._tell("WATCHDOG=1")

    def status(self, text: str) -> None:
        """How things stand, in a line; told only when it changes."""
        if text != self._status:
            self._status = text
            self._tell(f"STATUS={text}", within_s=0)

    def _tell(self, message: str, within_s: float = 0.2) -> None:
        if self._address:
            with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
                manager.settimeout(within_s)  # the manager may have a backlog
                manager.sendto(message.encode(), self._address)


def _watchdog_s(known: dict[str, str]) -> float | None:
    """Half of what systemd allows; None when it does not watch this process."""
    named = known.get("WATCHDOG_USEC", "")
    if not named.isdigit() or int(named) == 0:
        return None
    if known.get("WATCHDOG_PID", str(os.getpid())) != str(os.getpid()):
        return None
    return int(named) / 2_000_000


async def keep_alive(notify: Notify, store_answers: Callable[[], Awaitable[None]]) -> None:
    """Tell that we are alive for as long as the event loop turns and the store answers in time.

    Ends at once when nobody watches.
    """
    every_s = notify.alive_every_s
    if every_s is None:
        return
    while True:
        with suppress(TimeoutError, StoreError):  # then it is not told, and the manager acts
            async with asyncio.timeout(every_s):
                await store_answers()
            notify.alive()
        await next_beat(every_s)
