"""One serial line and the one owner that writes to it.

All of it runs in callbacks of the event loop, so nothing can come between two of its steps: the
link *is* the owner, and needs no task and no lock. Callers hand in orders and wait. Cancelling a
caller drops the answer, never the exchange; an order that nobody waits for any more is not sent.
"""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field

from hostctl.errors import LinkError, PortError
from hostctl.link.alarm import Alarm
from hostctl.link.faults import link_error
from hostctl.link.port import Port, PortOpener, PortSettings, open_port
from hostctl.link.reply import Greeting, Reply
from hostctl.link.wire_log import WireLog
from hostctl.protocol.events import (
    Banner,
    Busy,
    ErrorSaid,
    Event,
    HostAsked,
    ResendAsked,
    TemperatureReported,
    Unrecognised,
)
from hostctl.protocol.exchange import OPENING, Exchange
from hostctl.protocol.lines import LineSplitter
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.numbering import HALT, checked
from hostctl.protocol.replies import events_in
from hostctl.protocol.states import Cause, Done, Fault, Idle, Output, Send, Settling

News = Event | Fault
"""What `on_news` is told: temperatures, requests and banners whenever they come; anything that
comes while no order is out; and a fault, once, when the line goes down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Patience:
    """How long the link waits for things that are not a command, in seconds."""

    quiet_s: float = 0.05
    """So long without a byte, after anything irregular, and the past is taken to be over."""
    settle_s: float = 1.0
    """It is taken to be over after this even if bytes keep coming."""
    boot_s: float = 12.0
    """From the opening of the port to the controller's introduction."""
    greet_s: float = 2.0
    """For one try at either step of the introduction."""
    look_s: float = 0.5
    """Between two looks for a port that has gone."""


@dataclass(slots=True)
class Order:
    """A command somebody waits for."""

    command: str
    deadline_s: float
    heating: bool
    answer: asyncio.Future[Reply]
    events: list[Event] = field(default_factory=list)


class Link:
    """A controller at the other end of a port. Use it inside `async with link.running()`.

    It is down until `connect` and after every fault; then `do` raises LinkError. After each
    `connect` the machine counts as rebooted: position and modes are unknown.
    """

    def __init__(
        self,
        url: str,
        settings: PortSettings,
        *,
        open_port: PortOpener = open_port,
        noise: NoiseLimit | None = None,
        patience: Patience | None = None,
        on_news: Callable[[News], None] = lambda news: None,
    ) -> None:
        raise NotImplementedError

    @asynccontextmanager
    async def running(self) -> AsyncIterator["Link"]:
        """Close the port and fail whoever still waits, at the end."""
        yield self

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the port (again) and agree with the controller.

        patience_s: how long to wait for a port that is not there, or not free.
        Raises PortError, or LinkError if nothing intelligible answers.
        """
        raise NotImplementedError

    async def do(self, command: str, *, deadline_s: float, heating: bool = False) -> Reply:
        """Have `command` executed, in turn, and give what came back.

        deadline_s: from its sending, or the last sign that it is being worked on: a busy line,
        and for `heating` a temperature report. When it passes the line is sent again; when it
        passes twice the link is down.
        Raises LinkError when the link is or goes down; ValueError for a command that may not go
        out (`protocol.numbering.checked`).
        """
        raise NotImplementedError

    def halt(self) -> None:
        """Send M112 at once, ahead of everything, whatever state the link is in."""
        raise NotImplementedError
