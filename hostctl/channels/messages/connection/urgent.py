"""Holds and stops by message: a connection that carries nothing else, so no flood is ahead of them.

On the other connection they wait behind whatever was sent before them, and are lost with it when
the broker's queue for us is full or a drowned connection is given up. Here each message holds or
stops, whatever it says, so even a flood of them stops. Each machine has its own: who may flood
another machine's stops is not ahead of this one's.
"""

import asyncio
from collections.abc import Callable, Sequence

from aiomqtt import Client, Message

from hostctl.channels.messages.connection.broker import Broker, subscribe
from hostctl.channels.messages.connection.lasting import LastingConnection

ABOUT = "holds and stops by message"
SAYS_SO = f"{ABOUT}: "


class UrgentConnection:
    """Hears one machine's `hold` and `stop`. `serve` it beside the machine's own channel."""

    def __init__(
        self,
        broker: Broker,
        topics: Sequence[str],
        *,
        act: Callable[[Message], None],
        say: Callable[[str], None],
        warn: Callable[[str], None],
        thrown_off: Callable[[str], None],
    ) -> None:
        """`act`: told each message. The others are as for a `LastingConnection`."""
        self.hears = False
        """Whether it is connected and subscribed."""
        self._topics = topics
        self._connection = LastingConnection(
            broker,
            act=act,
            work=self._listen,
            say=lambda text: say(SAYS_SO + text),
            warn=lambda text: warn(text and SAYS_SO + text),
            thrown_off=lambda text: thrown_off(SAYS_SO + text),
        )

    async def serve(self) -> None:
        """Until cancelled. A broker that is away is no failure."""
        await self._connection.serve()

    async def _listen(self, client: Client) -> None:
        for topic in self._topics:
            await subscribe(client, topic)
        self.hears = True
        try:
            await asyncio.Event().wait()
        finally:
            self.hears = False
