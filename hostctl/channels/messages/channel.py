"""One machine's messages.

    outbox = await store.outbox(station.name, most_waiting=settings.most_waiting)
    channel = MessagesChannel(station, settings, now=…, outbox=outbox, say=…, ids=…)
    await channel.serve()  # and, beside it, channel.urgent.serve()

Four tasks: one follows the station's news, one puts messages into the outbox, one looks now and
then whether the state has changed, and one stays connected. The last is the only one that knows a
broker; the others go on while it is away. Holds and stops come over the urgent connection.
"""

import asyncio
import json
from collections.abc import Callable
from datetime import datetime
from functools import partial

from aiomqtt import Client, Message, MqttError, Will

from hostctl.channels.beat import next_beat
from hostctl.channels.messages.arriving.reception import CHANNEL, Reception, ShownPrompt
from hostctl.channels.messages.connection.access import BACK_WITHIN_S, Access
from hostctl.channels.messages.connection.broker import Broker, publish, subscribe
from hostctl.channels.messages.connection.client_ids import ClientIds
from hostctl.channels.messages.connection.lasting import LastingConnection
from hostctl.channels.messages.connection.sender import Sender
from hostctl.channels.messages.connection.urgent import ABOUT, UrgentConnection
from hostctl.channels.messages.discovery import announcements, hub_status
from hostctl.channels.messages.event_kind import EventKind
from hostctl.channels.messages.outgoing import Outgoing, kept_news
from hostctl.channels.messages.payloads import PromptNow, json_text
from hostctl.channels.messages.topics import OFFLINE, ONLINE, Topics
from hostctl.config.host import Messages
from hostctl.errors import StoreError
from hostctl.run.station import Station
from hostctl.store.outbox import NewMessage, Outbox

LOOK_AGAIN_S = 15.0
MOST_TO_KEEP = 1000
GOODBYE_S = 1.0
URGENT_S = 0.25  # within which a hold or stop is heard on the urgent connection too


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
        ids: ClientIds,
    ) -> None:
        """`say` is told in a sentence what a person should know (the log).

        Raises ConfigError when the password, key or certificate files are missing or unsafe.
        """
        self._station = station
        self._settings = settings
        self._outbox = outbox
        self._say = say
        self._topics = Topics(station.name)
        self._is_5 = settings.protocol == "5"
        self._hub_status = hub_status(settings.discovery_prefix)
        station.on_change.add(lambda: self._sender.change(self._topics.state))
        station.on_report.add(lambda report: self._keep(self._outgoing.report(report)))
        self.urgent = UrgentConnection(
            Broker(settings, ids, f"{station.name} urgent"),
            self._topics.urgent,
            act=self._take_urgent,
            say=say,
            warn=partial(station.warn, ABOUT),
            thrown_off=self._tell_thrown_off,
        )
        """To be served beside the channel; what it would hear is taken here while it can't."""
        self._connection = LastingConnection(
            Broker(settings, ids, station.name, Will(self._topics.online, OFFLINE, 1, True)),
            act=self._take,
            work=self._work,
            goodbye=self._say_goodbye,
            say=say,
            warn=lambda text: station.warn("messages", text and f"messages: {text}"),
            thrown_off=self._tell_thrown_off,
        )
        self._outgoing = Outgoing(station, self._topics, now=now)
        self._access = Access(self._topics)
        self._shown: ShownPrompt | None = None
        self._dropped_count = 0
        self._waiting: dict[str, asyncio.TimerHandle] = {}  # by topic: what it may have missed
        self._to_keep: asyncio.Queue[NewMessage] = asyncio.Queue(MOST_TO_KEEP)
        self._sender = Sender(
            outbox,
            {
                self._topics.online: lambda: ONLINE,
                self._topics.state: self._outgoing.state,
                self._topics.prompt: self._outgoing.prompt,
                **self._announced(),
            },
            on_sending=self._sending,
            on_sent=self._sent,
            say=say,
        )
        self._reception = Reception(
            station,
            self._topics,
            now=now,
            shown=lambda: self._shown,
            tell=lambda kind, text: self._keep(self._outgoing.event(kind, text, channel=CHANNEL)),
        )

    async def serve(self) -> None:
        """Connect, and connect again, until cancelled. A broker that is away is no failure."""
        works = (self._follow, self._fill_outbox, self._look_now_and_then, self._connection.serve)
        async with asyncio.TaskGroup() as tasks:
            for work in works:
                tasks.create_task(work(), name=f"messages {self._station.name} {work.__name__}")

    # ------------------------------------------------------------ what goes out

    async def _follow(self) -> None:
        async with self._station.desk.listening() as all_news:
            async for news in all_news:
                message = self._outgoing.after(news)
                if message is not None:
                    self._keep(message)
                self._sender.change(self._topics.state, self._topics.prompt)

    def _keep(self, message: NewMessage) -> None:
        try:
            self._to_keep.put_nowait(message)
        except asyncio.QueueFull:
            self._say("the disk is too slow to keep a message; it is lost")

    async def _fill_outbox(self) -> None:
        await self._tell_what_a_crash_left_untold()
        while True:
            message = await self._to_keep.get()
            try:
                dropped = await self._outbox.add(message)
            except StoreError as fault:
                self._say(f"a message was not kept: {fault}")
                continue
            self._sender.added()
            if dropped:
                self._dropped(dropped)

    async def _tell_what_a_crash_left_untold(self) -> None:
        try:
            for stored in await self._outbox.untold():
                await self._outbox.add(self._outgoing.reading(kept_news(stored)))
            self._sender.added()
        except StoreError as fault:
            self._say(str(fault))

    def _dropped(self, dropped: int) -> None:
        if not self._dropped_count:
            self._say(
                f"more than {self._settings.most_waiting} messages wait for "
                "the broker; the oldest are dropped, readings last"
            )
        self._dropped_count += dropped

    def _tell_of_dropped(self) -> None:
        if self._dropped_count:
            text = f"{self._dropped_count} messages that waited for the broker had to be dropped"
            self._dropped_count = 0
            self._keep(self._outgoing.event(EventKind.DROPPED, text))

    def _tell_thrown_off(self, text: str) -> None:
        self._keep(self._outgoing.event(EventKind.THROWN_OFF, text))

    async def _look_now_and_then(self) -> None:
        """For what nobody tells: arming that ran out, what is denied, refusals that went untold."""
        before = self._outgoing.fingerprint()
        while True:
            await next_beat(LOOK_AGAIN_S)
            self._reception.tell_of_untold(_loop_s())
            self._tell_of_denied()
            now = self._outgoing.fingerprint()
            if now != before:
                before = now
                self._sender.change(self._topics.state)

    # ------------------------------------------------------------ the connection

    async def _work(self, client: Client) -> None:
        """With a new connection; never ends. Raises MqttError when the broker takes no more."""
        self._access.begin()
        self._shown = None
        await self._subscribe(client)
        self._keep(self._outgoing.event(EventKind.CONNECTED, "Connected to the broker"))
        self._tell_of_dropped()
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._sender.send(client), name="messages sender")
            await self._check_access(client)

    async def _subscribe(self, client: Client) -> None:
        await subscribe(client, self._topics.everything, as_sent=self._is_5)
        if self._settings.discovery:
            await subscribe(client, self._hub_status)

    def _announced(self) -> dict[str, Callable[[], str]]:
        """Composes each discovery topic; none unless asked for."""
        if not self._settings.discovery:
            return {}
        all_of_it = announcements(self._topics, self._settings.discovery_prefix)
        return {topic: partial(str, text) for topic, text in all_of_it.items()}

    async def _say_goodbye(self, client: Client) -> None:
        """In an orderly end the broker does not tell that we are gone, so we do."""
        client.timeout = GOODBYE_S
        try:
            nothing = json_text("prompt", PromptNow())
            for topic, payload in ((self._topics.prompt, nothing), (self._topics.online, OFFLINE)):
                await publish(client, topic, payload, retain=True, within_s=GOODBYE_S)
        except MqttError:
            pass  # it is gone before us, and tells our end itself

    async def _check_access(self, client: Client) -> None:
        """Look at all we may have to read; then once more, so that the rest is known to be late."""
        for topic in (self._topics.command, *self._topics.urgent, self._topics.answer):
            await self._look_at(topic, client)
        await asyncio.sleep(BACK_WITHIN_S + 0.1)
        await self._look_at(self._topics.answer, client)

    async def _look_at(self, topic: str, client: Client) -> None:
        self._sending(topic)
        await publish(client, topic, self._access.probe)

    def _tell_of_denied(self) -> None:
        denied = self._access.denied(_loop_s())
        if denied:
            self._say(
                f"the broker's access list silently denies {', '.join(denied)}; "
                f"allow its user to read and write {self._topics.everything}"
            )

    # ------------------------------------------------------------ what comes in

    def _take(self, message: Message) -> None:
        topic = message.topic.value
        payload = _bytes(message)
        kept = message.retain and not self._is_5  # what is kept does not come in over MQTT 5
        if self._access.is_echo(topic, payload, retained=kept):
            self._tell_of_denied()
            if topic == self._topics.online and payload == OFFLINE.encode():
                self._sender.change(topic)  # of a session of ours that the broker just buried
        elif topic == self._hub_status:
            self._sender.change(*self._announced())
        elif topic in self._topics.urgent:
            self._take_urgent_here(topic, payload, kept=kept)
        else:
            self._reception.take(topic, payload, retained=message.retain, kept=kept, at_s=_loop_s())

    def _take_urgent(self, message: Message) -> None:
        """Over the urgent connection, where what is kept comes in and says so."""
        topic, payload = message.topic.value, _bytes(message)
        self._reception.take_urgent(topic, payload, kept=message.retain, at_s=_loop_s())

    def _take_urgent_here(self, topic: str, payload: bytes, *, kept: bool) -> None:
        """Over the machine's own connection, where each hold and stop comes in too.

        The urgent connection may seem to hear for a while though it is dead.
        """
        at_s = _loop_s()
        if not self.urgent.hears:
            self._reception.take_urgent(topic, payload, kept=kept, at_s=at_s)
        elif payload and not kept and topic not in self._waiting:
            loop = asyncio.get_running_loop()
            self._waiting[topic] = loop.call_later(URGENT_S, self._take_missed, topic, at_s)

    def _take_missed(self, topic: str, asked_s: float) -> None:
        del self._waiting[topic]
        self._reception.take_missed(topic, asked_s, at_s=_loop_s())

    def _sending(self, topic: str) -> None:
        if topic.startswith(self._topics.tree):
            self._access.sent(topic, _loop_s())

    def _sent(self, topic: str, payload: str) -> None:
        """A retained message is with the broker."""
        if topic == self._topics.prompt:
            at_s = _loop_s()
            prompt_id = json.loads(payload)["prompt_id"]
            self._shown = ShownPrompt(prompt_id, at_s) if prompt_id else None


def _bytes(message: Message) -> bytes:
    return message.payload if isinstance(message.payload, bytes) else b""


def _loop_s() -> float:
    return asyncio.get_running_loop().time()
