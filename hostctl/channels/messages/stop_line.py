"""Stops by message: a connection that carries nothing else, so that no flood is ahead of a stop.

On the other connections a stop waits behind whatever was sent before it, and is lost with it when
the broker's queue for us is full or a drowned connection is given up. Here each message is a stop,
whatever it says, so even a flood of them stops. One connection serves all machines.
"""

import asyncio
from collections.abc import Callable

from aiomqtt import Client, Message

from hostctl.channels.messages.broker import Broker, subscribe
from hostctl.channels.messages.line import Line
from hostctl.config.host import Messages

SAYS_SO = "stops by message: "


class StopLine:
    """Hears the `stop` topics of all machines. `serve` it beside the machines' own channels."""

    def __init__(self, settings: Messages, name: str, say: Callable[[str], None]) -> None:
        """`name`: of one of the machines, so that the broker can tell two such lines apart.

        `say`: as for a machine's channel. Raises ConfigError as the channel does.
        """
        self.hears = False
        """Whether it is connected and subscribed."""
        self._acts: dict[str, Callable[[Message], None]] = {}
        self._line = Line(
            Broker(settings, f"hostctl:stop:{name}"),
            act=self._take,
            work=self._listen,
            say=lambda text: say(SAYS_SO + text),
        )

    def listen(self, topic: str, act: Callable[[Message], None]) -> None:
        """`act` on each message of this topic. To be told before `serve`."""
        self._acts[topic] = act

    async def serve(self) -> None:
        """Until cancelled. A broker that is away is no failure."""
        await self._line.serve()

    async def _listen(self, client: Client) -> None:
        for topic in self._acts:
            await subscribe(client, topic)
        self.hears = True
        try:
            await asyncio.Event().wait()
        finally:
            self.hears = False

    def _take(self, message: Message) -> None:
        act = self._acts.get(message.topic.value)
        if act is not None:
            act(message)
