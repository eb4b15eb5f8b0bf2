"""A connection to the broker that is made anew whenever it is lost."""

import asyncio
from collections.abc import Awaitable, Callable

from aiomqtt import Client, Message, MqttError

from hostctl.channels.beat import next_beat
from hostctl.channels.messages.broker import Broker
from hostctl.channels.messages.patience import Patience
from hostctl.errors import ConfigError

Work = Callable[[Client], Awaitable[None]]


async def _nothing(client: Client) -> None:
    """No goodbye."""


class Line:
    """Stays connected. A broker that is away is no failure."""

    def __init__(
        self,
        broker: Broker,
        *,
        act: Callable[[Message], None],
        work: Work,
        say: Callable[[str], None],
        goodbye: Work = _nothing,
    ) -> None:
        """`act`: told each message. `work`: done with each new connection, begins by subscribing.

        `goodbye`: done with the connection in an orderly end. `say`: told trouble, and its end.
        """
        self._broker = broker
        self._act = act
        self._work = work
        self._goodbye = goodbye
        self._say = say
        self._ending = False

    async def serve(self) -> None:
        """Connect, and connect again, until cancelled."""
        self._ending = False
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._stay_connected(), name="messages line")
            try:
                await asyncio.Event().wait()
            finally:
                self._ending = True

    async def _stay_connected(self) -> None:
        loop = asyncio.get_running_loop()
        patience = Patience(self._broker.where, self._say)
        while True:
            try:
                async with self._broker.client(self._act) as client:
                    self._raise_if_ending()
                    patience.connected(loop.time())
                    await self._while_connected(client)
            except* (MqttError, ConfigError) as faults:
                wait_s = patience.failed(_first(faults), loop.time())
            self._raise_if_ending()
            await next_beat(wait_s)

    def _raise_if_ending(self) -> None:
        """The client can swallow a cancellation, or hide it behind a failure of its own.

        `Task.cancelling()` would not do: a task group that fails while it is left, as here when
        the line is lost, leaves it raised (Python 3.11).
        """
        if self._ending:
            raise asyncio.CancelledError

    async def _while_connected(self, client: Client) -> None:
        """Raises MqttError, in a group, when the connection is lost."""
        try:
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(_until_lost(client), name="messages until lost")
                await self._work(client)
        except asyncio.CancelledError:
            await self._goodbye(client)
            raise


async def _until_lost(client: Client) -> None:
    """Raises MqttError when the connection is lost. No message comes this way."""
    async for _ in client.messages:
        pass


def _first(faults: BaseExceptionGroup[BaseException]) -> BaseException:
    fault = faults.exceptions[0]
    return _first(fault) if isinstance(fault, BaseExceptionGroup) else fault
