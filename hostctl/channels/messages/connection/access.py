"""Whether the broker's access list lets us do what we must.

Brokers deny in silence: what we publish is acknowledged and goes nowhere. So we look whether what
we send comes back, since we read our whole tree; to see that answers and commands would reach us
we send ourselves one of each that nobody else could have made up.
"""

import math
import re
import secrets

from hostctl.channels.messages.topics import Topics

BACK_WITHIN_S = 2.0
LATEST_S = 10.0
_PROBE = re.compile(rb"access-check [0-9a-f]{16}")


def new_probe() -> str:
    """A random word that no topic's reader acts on."""
    return f"access-check {secrets.token_hex(8)}"


def is_probe(payload: bytes) -> bool:
    """Whether it is such a word, ours or that of an examination (`hostctl doctor`)."""
    return _PROBE.fullmatch(payload) is not None


class Access:
    """What was sent and has not come back. Times are the event loop's."""

    def __init__(self, topics: Topics) -> None:
        self._own = {topics.online, topics.state, topics.prompt, topics.reading, topics.event}
        self._missing: dict[str, float] = {}
        self._told: set[str] = set()
        self._back_s = -math.inf  # when the latest was sent of what came back
        self.probe = new_probe()

    def begin(self) -> None:
        """A new connection: forget the last one's."""
        self._missing.clear()
        self._back_s = -math.inf
        self._told.clear()

    def sent(self, topic: str, at_s: float) -> None:
        """This is about to be sent."""
        if topic not in self._told:
            self._missing.setdefault(topic, at_s)

    def is_echo(self, topic: str, payload: bytes, *, retained: bool) -> bool:
        """Whether it is our own come back, or a mere probe. A retained one is an old one."""
        ours = topic in self._own or payload == self.probe.encode()
        if ours and not retained:
            self._back_s = max(self._back_s, self._missing.pop(topic, -math.inf))
        return ours or is_probe(payload)

    def denied(self, at_s: float) -> list[str]:
        """Topics that seem denied, each given once a connection.

        What was sent later is back, or nothing is for long: a busy computer is merely late.
        """
        late = [
            topic
            for topic, since in self._missing.items()
            if at_s - since >= (BACK_WITHIN_S if since <= self._back_s else LATEST_S)
        ]
        for topic in late:
            del self._missing[topic]
        self._told.update(late)
        return sorted(late)
