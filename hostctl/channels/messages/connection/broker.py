"""The way to the broker: a fresh client for each attempt.

Fresh, because one that was dropped forgets to wait for the broker's consent the second time, and
one whose connecting was cancelled can't be used again. No queue of incoming messages: each is
acted on as it is read, so however many come, none is kept.
"""

import asyncio
import math
import socket
import ssl
from collections.abc import Callable
from pathlib import Path
from typing import Any

from aiomqtt import Client, Message, MqttError, ProtocolVersion, Will
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.subscribeoptions import SubscribeOptions

from hostctl.channels.messages.arriving.incoming import LONGEST_BYTES
from hostctl.channels.messages.connection.client_ids import ClientIds
from hostctl.channels.secret_file import OUR_KEY, PASSWORD, check_secret, read_secret
from hostctl.config.host import Messages, Tls
from hostctl.errors import ConfigError

CONNECT_S = 5.0
ANSWER_S = 2.0
_LARGEST_PACKET_BYTES = LONGEST_BYTES + 1024
_AS_SENT = SubscribeOptions(
    qos=1, retainAsPublished=True, retainHandling=SubscribeOptions.RETAIN_DO_NOT_SEND
)
NO_DELAY = (socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


class Broker:
    """Makes the clients of one connection. Raises ConfigError when a file is missing or unsafe."""

    def __init__(
        self, settings: Messages, ids: ClientIds, connection: str, will: Will | None = None
    ) -> None:
        """`connection`: what it is called among ours. `will`: told by the broker when we vanish."""
        self._settings = settings
        self._ids = ids
        self._connection = connection
        self._will = will
        self._password()
        self._tls = _tls_context(settings.tls) if settings.tls else None

    @property
    def where(self) -> str:
        """`host:port`."""
        return f"{self._settings.broker}:{self._settings.port}"

    def client(self, act: Callable[[Message], None]) -> Client:
        """A client that calls `act` with each message. Raises ConfigError (the password file)."""
        settings = self._settings
        is_5 = settings.protocol == "5"
        return Client(
            settings.broker,
            settings.port,
            username=settings.user,
            password=self._password(),
            identifier=self._ids.of(self._connection),
            protocol=ProtocolVersion.V5 if is_5 else ProtocolVersion.V311,
            clean_session=None if is_5 else True,
            properties=_connect_properties() if is_5 else None,
            will=self._will,
            keepalive=settings.keepalive_s,
            timeout=CONNECT_S,
            tls_context=self._tls,
            socket_options=[NO_DELAY],
            queue_type=_acting_at_once(act),
        )

    def take_other_ids(self) -> None:
        """For the clients made from now on."""
        self._ids.renew()

    def _password(self) -> str | None:
        path = self._settings.password_file
        return read_secret(Path(path), PASSWORD) if path else None


async def publish(
    client: Client,
    topic: str,
    payload: str | bytes,
    *,
    retain: bool = False,
    within_s: float = ANSWER_S,
) -> None:
    """At QoS 1; returns when the broker has acknowledged it, else raises MqttError.

    The library's own time limit would now and then swallow a cancellation (asyncio.wait_for of
    Python 3.11 does when what it waits for comes at the same moment), so ours is used.
    """
    try:
        async with asyncio.timeout(within_s):
            await client.publish(topic, payload, qos=1, retain=retain, timeout=math.inf)
    except TimeoutError as cause:
        raise MqttError("it does not acknowledge what we send") from cause


async def subscribe(client: Client, topic: str, *, as_sent: bool = False) -> None:
    """At QoS 1. Raises MqttError when the broker does not answer.

    `as_sent`, for MQTT 5 alone: what is retained says so also while it is fresh, and what the
    broker keeps from before does not come at all.
    """
    try:
        async with asyncio.timeout(ANSWER_S):
            how: dict[str, Any] = {"options": _AS_SENT} if as_sent else {"qos": 1}
            await client.subscribe(topic, timeout=math.inf, **how)
    except TimeoutError as cause:
        raise MqttError("it does not answer a subscription") from cause


def _acting_at_once(act: Callable[[Message], None]) -> type[asyncio.Queue[Message]]:
    class ActsAtOnce(asyncio.Queue[Message]):
        """What the client believes to be its queue; it stays empty."""

        def put_nowait(self, item: Message) -> None:
            act(item)

    return ActsAtOnce


def _connect_properties() -> Properties:
    properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call] # paho is partly typed
    properties.MaximumPacketSize = _LARGEST_PACKET_BYTES
    return properties


def _tls_context(tls: Tls) -> ssl.SSLContext:
    try:
        context = ssl.create_default_context(cafile=tls.ca_file)
    except (OSError, ssl.SSLError) as cause:
        raise _unusable(tls.ca_file) from cause
    if tls.certificate_file:
        key_file = tls.key_file or tls.certificate_file
        check_secret(Path(key_file), OUR_KEY)
        try:
            # without a password the library would ask for one at the terminal
            context.load_cert_chain(tls.certificate_file, key_file, password="")
        except (OSError, ssl.SSLError) as cause:
            raise _unusable(tls.certificate_file) from cause
    return context


def _unusable(path: str) -> ConfigError:
    return ConfigError(
        path,
        "it can't be used as a certificate",
        "Name the file that came with the broker's set-up (PEM), readable for hostctl.",
    )
