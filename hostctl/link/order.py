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
    usual_s: float | None
    answer: asyncio.Future[Reply]
    events: list[Event] = field(default_factory=list)
    line: int = 0

    def hand_over(self) -> None:
        """Give the answer to whoever still waits for it."""
        if not self.answer.done():
            events = tuple(self.events)
            self.answer.set_result(Reply(command=self.command, line=self.line, events=events))
