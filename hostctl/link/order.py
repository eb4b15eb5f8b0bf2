"""A command in the link's hands."""

import asyncio
from dataclasses import dataclass, field

from hostctl.link.reply import Reply
from hostctl.protocol.events import Event


@dataclass(slots=True)
class Order:
    """A command somebody waits for."""

    command: str
    deadline_s: float
    heating: bool
    answer: asyncio.Future[Reply]
    events: list[Event] = field(default_factory=list)
