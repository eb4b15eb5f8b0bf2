"""The one task that publishes: the latest of each retained topic, then the outbox, in order.

Each message of the outbox waits for its PUBACK before the next goes out. One that was sent but not
acknowledged before the line broke is sent again with the same id. Sending starts a moment after
it is asked for, so that it never delays what a person's answer sets going.
"""

import asyncio
from collections.abc import Callable, Mapping

from aiomqtt import Client

from hostctl.channels.messages.connection.broker import publish
from hostctl.errors import StoreError
from hostctl.store.outbox import Outbox

GATHER_S = 0.003
BATCH = 50
DISK_AGAIN_S = 5.0


class Sender:
    """Sends for one machine, over whichever client is connected."""

    def __init__(
        self,
        outbox: Outbox,
        retained: Mapping[str, Callable[[], str]],
        *,
        on_sending: Callable[[str], None],
        on_sent: Callable[[str, str], None],
        say: Callable[[str], None],
    ) -> None:
        """`retained`: composes each retained topic's payload. `on_sending`: topic.

        `on_sent`: topic and payload of a retained message that the broker has acknowledged.
        """
        self._outbox = outbox
        self._retained = retained
        self._on_sending = on_sending
        self._on_sent = on_sent
        self._say = say
        self._changed: set[str] = set()
        self._delivered_seq = 0
        self._wake = asyncio.Event()

    def change(self, *topics: str) -> None:
        """These retained topics have changed."""
        self._changed.update(topics)
        self._wake.set()

    def added(self) -> None:
        """The outbox has got something."""
        self._wake.set()

    async def send(self, client: Client) -> None:
        """Send all there is and will be. Raises MqttError when the broker takes no more."""
        self.change(*self._retained)
        while True:
            await self._wake.wait()
            await asyncio.sleep(GATHER_S)
            self._wake.clear()
            await self._send_retained(client)
            try:
                await self._send_outbox(client)
            except StoreError as fault:
                self._say(str(fault))
                await asyncio.sleep(DISK_AGAIN_S)
                self._wake.set()

    async def _send_retained(self, client: Client) -> None:
        for topic, compose in self._retained.items():
            if topic not in self._changed:
                continue
            self._changed.discard(topic)
            payload = compose()
            self._on_sending(topic)
            try:
                await publish(client, topic, payload, retain=True)
            except BaseException:
                self._changed.add(topic)
                raise
            self._on_sent(topic, payload)

    async def _send_outbox(self, client: Client) -> None:
        while self._outbox.waiting:
            batch = await self._outbox.after(self._delivered_seq, at_most=BATCH)
            if not batch:
                return
            try:
                for message in batch:
                    self._on_sending(message.topic)
                    await publish(client, message.topic, message.payload)
                    self._delivered_seq = message.seq
                    await self._send_retained(client)
            finally:
                await self._outbox.delivered(self._delivered_seq)
