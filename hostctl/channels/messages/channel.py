"""One machine's messages.

MessagesChannel(station, settings, now=…, outbox=await store.outbox(name, most_waiting=…), say=…)
await channel.serve()
"""

from collections.abc import Callable
from datetime import datetime

from hostctl.config.host import Messages
from hostctl.run.station import Station
from hostctl.store.outbox import Outbox

CHANNEL = "messages"


class MessagesChannel:
    """Talks to the broker on behalf of one station."""

    name = CHANNEL

    def __init__(
        self,
        station: Station,
        settings: Messages,
        *,
        now: Callable[[], datetime],
        outbox: Outbox,
        say: Callable[[str], None],
    ) -> None:
        """`say` is told in a sentence what a person should know (the log).

        Raises ConfigError when the password, key or certificate files are missing or unsafe.
        """
        self._station = station
        self._settings = settings
        self._now = now
        self._outbox = outbox
        self._say = say

    async def serve(self) -> None:
        """Connect, and connect again, until cancelled. A broker that is away is no failure."""
        raise NotImplementedError
