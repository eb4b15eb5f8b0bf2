"""The broker asked to let us in as it lets the daemon in, and each topic tried both ways.

Whatever is sent is harmless while a daemon runs: what the broker keeps is sent as it stands, a word
that nobody acts on goes where something is taken in, and an empty message elsewhere.
"""

import asyncio
from collections.abc import Iterator, Sequence
from contextlib import suppress

from aiomqtt import Message, MqttError

from hostctl.channels.messages.connection.access import BACK_WITHIN_S, new_probe
from hostctl.channels.messages.connection.broker import Broker, publish, subscribe
from hostctl.channels.messages.connection.client_ids import ClientIds
from hostctl.channels.messages.connection.retries import in_words
from hostctl.channels.messages.discovery import announcements
from hostctl.channels.messages.topics import Topics
from hostctl.config.host import Messages
from hostctl.daemon.examination.broker_check import Found
from hostctl.errors import ConfigError

KEPT_COMES_WITHIN_S = 0.5


def login_findings(settings: Messages, machines: Sequence[str]) -> Iterator[Found]:
    """Whether it does, and for each machine whether its topics can be written and read."""
    try:
        denied = asyncio.run(_denied(settings, machines))
    except MqttError as fault:
        mend = "Make the user and password known to the broker (mosquitto_passwd), or correct them."
        yield False, in_words(fault, f"{settings.broker}:{settings.port}"), mend
        return
    except ConfigError as error:
        if isinstance(error.__cause__, PermissionError):  # its owner can: the daemon
            found = "whether it lets the daemon in was not tried: its password is not for this user"
            yield True, found, "Try: sudo -u hostctl hostctl doctor --config DIR"
        else:
            yield False, str(error), ""
        return
    who = f"the user '{settings.user}'" if settings.user else "us without a user"
    yield True, f"it lets {who} in", ""
    for machine, topics in denied.items():
        if topics:
            found = f"its access list denies {', '.join(topics)}"
            mend = f"Allow {who} to read and write {Topics(machine).everything}"
            if settings.discovery:
                mend += f" and {_announced(settings, machine)}"
            yield False, found, f"{mend} there, and have the broker read it again."
        else:
            yield True, f"it carries each topic of '{machine}'", ""


async def _denied(settings: Messages, machines: Sequence[str]) -> dict[str, list[str]]:
    """By machine, the topics on which what we send does not come back. Raises MqttError."""
    look = _Look()
    async with Broker(settings, ClientIds(None, _nobody), "doctor").client(look.take) as client:
        for machine in machines:
            await subscribe(client, Topics(machine).everything)
            if settings.discovery:
                await subscribe(client, _announced(settings, machine))
        await asyncio.sleep(KEPT_COMES_WITHIN_S)
        tried = {machine: look.payloads(settings, Topics(machine)) for machine in machines}
        for payloads in tried.values():
            for topic, payload in payloads.items():
                look.missing[topic] = payload
                await publish(client, topic, payload)
        await look.until_all_is_back()
    return {machine: [t for t in topics if t in look.missing] for machine, topics in tried.items()}


class _Look:
    """What was sent and has not come back."""

    def __init__(self) -> None:
        self.missing: dict[str, bytes] = {}
        self._kept: dict[str, bytes] = {}
        self._came = asyncio.Event()

    def take(self, message: Message) -> None:
        """Told each message."""
        topic = message.topic.value
        payload = message.payload if isinstance(message.payload, bytes) else b""
        if message.retain:
            self._kept[topic] = payload
        elif self.missing.get(topic) == payload:
            del self.missing[topic]
            self._came.set()

    def payloads(self, settings: Messages, topics: Topics) -> dict[str, bytes]:
        """What to send on each topic of a machine."""
        probe = new_probe().encode()
        sent = dict.fromkeys((topics.answer, topics.command, *topics.urgent), probe)
        for topic in (topics.online, topics.state, topics.prompt, topics.reading, topics.event):
            sent[topic] = self._kept.get(topic, b"")
        if settings.discovery:
            announced = announcements(topics, settings.discovery_prefix)
            sent |= {topic: text.encode() for topic, text in announced.items()}
        return sent

    async def until_all_is_back(self) -> None:
        """Or until it is plain that the rest won't come."""
        with suppress(TimeoutError):
            async with asyncio.timeout(BACK_WITHIN_S):
                while self.missing:
                    self._came.clear()
                    await self._came.wait()


def _announced(settings: Messages, machine: str) -> str:
    return f"{settings.discovery_prefix}/+/hostctl_{machine}/+/config"


def _nobody(text: str) -> None:
    """Nobody is told."""
