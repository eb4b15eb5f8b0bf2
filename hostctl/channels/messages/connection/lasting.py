"""A connection to the broker that is made anew whenever it is lost."""

import asyncio
from collections.abc import Awaitable, Callable

from aiomqtt import Client, Message, MqttError

from hostctl.channels.beat import next_beat
from hostctl.channels.messages.connection.broker import Broker
from hostctl.channels.messages.connection.retries import Retries, most_telling
from hostctl.errors import ConfigError

CALM_AFTER_S = 600.0
"""So long a warning stands after we were thrown off, though we are back in half a second."""
LATELY = "thrown off the broker again and again of late; what was sent meanwhile was not heard"
Work = Callable[[Client], Awaitable[None]]


async def _nothing(client: Client) -> None:
    """No goodbye."""


class LastingConnection:
    """Stays connected. A broker that is away is no failure."""

    def __init__(
        self,
        broker: Broker,
        *,
        act: Callable[[Message], None],
        work: Work,
        say: Callable[[str], None],
        warn: Callable[[str], None],
        thrown_off: Callable[[str], None],
        goodbye: Work = _nothing,
    ) -> None:
        """`act`: told each message. `work`: done with each new connection, begins by subscribing.

        `goodbye`: done with the connection in an orderly end. `say`: told trouble, and its end.
        `warn`: told what is wrong now, "" once nothing is. `thrown_off`: told in a sentence when
        somebody takes our place at the broker, again and again.
        """
        self._broker = broker
        self._act = act
        self._work = work
        self._goodbye = goodbye
        self._say = say
        self._warn = warn
        self._thrown_off = thrown_off
        self._ending = False

    async def serve(self) -> None:
        """Connect, and connect again, until cancelled."""
        self._ending = False
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._stay_connected(), name="messages connection")
            try:
                await asyncio.Event().wait()
            finally:
                self._ending = True

    async def _stay_connected(self) -> None:
        loop = asyncio.get_running_loop()
        retries = Retries(self._broker.where, self._say)
        calm_from_s = 0.0  # a warning stands till then, though we are connected again
        while True:
            try:
                async with self._broker.client(self._act) as client:
                    self._raise_if_ending()
                    retries.connected(loop.time())
                    await self._while_connected(client, calm_from_s)
            except* (MqttError, ConfigError) as faults:
                wait_s = retries.failed(most_telling(faults), loop.time())
            self._raise_if_ending()
            if retries.thrown_off:
                calm_from_s = loop.time() + CALM_AFTER_S
                self._broker.take_other_ids()
                self._thrown_off(retries.thrown_off)
            self._warn(retries.trouble)
            await next_beat(wait_s)

    def _raise_if_ending(self) -> None:
        """The client can swallow a cancellation, or hide it behind a failure of its own.

        `Task.cancelling()` would not do: a task group that fails while it is left, as here when
        the line is lost, leaves it raised (Python 3.11).
        """
        if self._ending:
            raise asyncio.CancelledError

    async def _while_connected(self, client: Client, calm_from_s: float) -> None:
        """Raises MqttError, in a group, when the connection is lost."""
        try:
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(_until_lost(client), name="messages until lost")
                tasks.create_task(self._calm_from(calm_from_s), name="messages calm")
                await self._work(client)
        except asyncio.CancelledError:
            await self._goodbye(client)
            raise

    async def _calm_from(self, at_s: float) -> None:
        calm_in_s = at_s - asyncio.get_running_loop().time()
        if calm_in_s > 0:
            self._warn(LATELY)
            await asyncio.sleep(calm_in_s)
        self._warn("")


async def _until_lost(client: Client) -> None:
    """Raises MqttError when the connection is lost. No message comes this way."""
    async for _ in client.messages:
        pass
