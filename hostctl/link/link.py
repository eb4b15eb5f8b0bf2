"""A serial line to one controller: opened, greeted, lost, and opened again."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from hostctl.errors import LinkError, PortError, ThermalFault
from hostctl.link.faults import greeting_error, link_error
from hostctl.link.order import Order
from hostctl.link.owner import Owner, again
from hostctl.link.patience import Patience
from hostctl.link.port import Port, PortOpener, PortSettings, SimulatedIndicator, open_port
from hostctl.link.reply import Greeting, Reply
from hostctl.link.wire_log import WireLog
from hostctl.observers import Observers
from hostctl.protocol.complaints import Gravity
from hostctl.protocol.events import ErrorSaid, Event, Info
from hostctl.protocol.exchange import OPENING
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.states import Cause, Fault

News = Event | Fault
"""What `on_news` is told: temperatures, requests, errors and banners whenever they come; anything
that comes while no order is out; and a fault, once, when the line goes down."""

INTRODUCTIONS = 3
"""So many times a controller is asked who it is; a very old one can't say."""

_STILL_BOOTING = (Cause.RESET, Cause.SILENT)


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
    ) -> None:
        """url, settings: the port. open_port: opens it. noise: when the line is too noisy.

        Make the link in the event loop that it will live in.
        """
        self.url = url
        self.on_news: Observers[News] = Observers()
        """Told what nobody asked for, as it comes."""
        self.on_fault: Observers[LinkError] = Observers()
        """Told once when the line goes down, whoever was or was not waiting for an answer."""
        self.on_error: Observers[str, bool] = Observers()
        """Told each error that is not about the line itself, and whether no order caused it."""
        self.on_wait: Observers[str, float, float] = Observers()
        """Told of a command that takes twice its usual time: how long it is waited for, and what
        is usual, in seconds; again and again."""
        self.thermal_fault: ThermalFault | None = None
        """While it is there the port is not opened: opening resets most boards, and so clears what
        a person must look at first. Whoever learns that it was looked at takes it away."""
        self.is_up = False
        """Whether orders are taken."""
        self._settings = settings
        self._open_port = open_port
        self._noise = noise
        self._patience = patience or Patience()
        self._loop = asyncio.get_running_loop()
        self.wire_log = WireLog(self._loop.time)
        self._owner: Owner | None = None
        self._marks: set[bool] = set()  # how what was remarked so far was marked
        self._error = LinkError(url, "the line is not open yet", "See that it is on.")

    @asynccontextmanager
    async def running(self) -> AsyncIterator["Link"]:
        """Close the port and fail whoever still waits, at the end."""
        try:
            yield self
        finally:
            await self._close(LinkError(self.url, "the line was closed", "See what ended it."))

    @property
    def lines_sent(self) -> int:
        """Commands sent since the last connect, the opening included."""
        return self._owner.exchange.lines_sent if self._owner else 0

    @property
    def resends(self) -> int:
        """Lines sent again since the last connect, for whatever reason."""
        return self._owner.exchange.resends if self._owner else 0

    @property
    def simulated_indicator(self) -> SimulatedIndicator | None:
        """The indicator at a simulated machine; None at a real one, whose own is looked at."""
        port = self._owner.port if self._owner else None
        return port if isinstance(port, SimulatedIndicator) else None

    def wire_text(self) -> str:
        """The wire log as text."""
        return self.wire_log.text()

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the port (again) and agree with the controller.

        patience_s: how long to wait for a port that is not there, or not free.
        Raises PortError, LinkError if nothing intelligible answers, or ThermalFault.
        """
        if self.thermal_fault is not None:
            raise again(self.thermal_fault)
        await self._close(LinkError(self.url, "the line was opened anew", "Give the order again."))
        port = await self._opened(patience_s)
        self.wire_log.remark(f"opened {port.name}")
        self._marks.clear()
        owner = self._owner = Owner(
            port,
            self.wire_log,
            noise=self._noise,
            patience=self._patience,
            on_event=self._heard,
            on_fault=self._went_down,
            on_wait=self._waits,
        )
        try:
            async with asyncio.timeout(self._patience.boot_s):
                greeting = await _greeted(owner, self._patience)
        except TimeoutError as cause:
            error = greeting_error(
                self.url, self._settings.baud, owner.bytes_heard, owner.understood
            )
            self._fail(error)
            raise again(error) from cause
        self.is_up = True
        return greeting.after_remarks(self._marks)

    async def do(
        self,
        command: str,
        *,
        deadline_s: float,
        heating: bool = False,
        usual_s: float | None = None,
    ) -> Reply:
        """Have `command` executed, in turn, and give what came back.

        deadline_s: from its sending, or the last sign that it is being worked on: a busy line,
        and for `heating` a temperature report. When it passes the line is sent again; when it
        passes twice the link is down. usual_s: from twice that on it is told as late, and asked
        after.
        Raises LinkError when the link is or goes down; ValueError for a command that may not go
        out (`protocol.numbering.checked`).
        """
        return await self.order(command, deadline_s=deadline_s, heating=heating, usual_s=usual_s)

    def order(
        self,
        command: str,
        *,
        deadline_s: float,
        heating: bool = False,
        usual_s: float | None = None,
    ) -> asyncio.Future[Reply]:
        """As `do`, but only queue it: several orders given together follow each other directly.

        Raises as `do`. Each future must be awaited, or cancelled, which drops the answer.
        """
        if not self.is_up or self._owner is None:
            raise again(self._error)
        return self._owner.order(command, deadline_s, heating, usual_s)

    def halt(self) -> None:
        """Send M112 at once, ahead of everything, whatever state the link is in."""
        if self._owner is not None:
            self._owner.halt()

    async def _opened(self, patience_s: float) -> Port:
        give_up_s = self._loop.time() + patience_s
        while True:
            try:
                return await self._open_port(self.url, self._settings)
            except PortError:
                if self._loop.time() >= give_up_s:
                    raise
            await asyncio.sleep(self._patience.look_s)

    async def _close(self, error: LinkError) -> None:
        self._fail(error)
        owner, self._owner = self._owner, None
        if owner is not None:
            await owner.port.close()
            self.wire_log.remark(f"closed {owner.port.name}")

    def _heard(self, event: Event) -> None:
        if isinstance(event, Info | ErrorSaid):
            self._marks.add(event.marked)
        if isinstance(event, ErrorSaid) and event.last_line is None:
            graver = event.gravity is not Gravity.REFUSAL  # then the line goes down, and says why
            rests = self.is_up and self._owner is not None and self._owner.rests
            self.on_error.tell(event.text, rests and not graver)
        self.on_news.tell(event)

    def _waits(self, order: Order, waited_s: float) -> None:
        if order.usual_s is not None:
            self.on_wait.tell(order.command, waited_s, order.usual_s)

    def _went_down(self, fault: Fault, doing: str) -> None:
        to_be_told = self.is_up
        error = link_error(self.url, fault, doing, was_up=self.is_up)
        if isinstance(error, ThermalFault):
            self.thermal_fault, to_be_told = error, True
        self._fail(error)
        if to_be_told:
            self.on_news.tell(fault)
            self.on_fault.tell(error)

    def _fail(self, error: LinkError) -> None:
        """Take no more orders; whoever waits for one is told why."""
        self.is_up = False
        self._error = error
        if self._owner is not None:
            self._owner.fail(error)


async def _greeted(owner: Owner, patience: Patience) -> Greeting:
    """Let it boot, agree on numbers, then ask who is there, until all are had."""
    await owner.fall_silent(patience.listen_s, patience.hush_s)
    while True:
        try:
            await owner.order(OPENING, patience.greet_s)
            return await _introduced(owner, patience.greet_s)
        except LinkError:
            if owner.fault is None or owner.fault.cause not in _STILL_BOOTING:
                raise
            booting = owner.fault.cause is Cause.RESET
            owner.begin()
            await owner.fall_silent(patience.hush_s if booting else 0.0, patience.hush_s)


async def _introduced(owner: Owner, greet_s: float) -> Greeting:
    """Its introduction; a damaged one is asked for again, and one that knows none has none."""
    for _ in range(INTRODUCTIONS):
        greeting = Greeting.of(await owner.order("M115", greet_s))
        if greeting.firmware or greeting.capabilities:
            break
    return greeting
