"""One serial line and the one owner that writes to it.

All of it runs in callbacks of the event loop, so nothing can come between two of its steps: the
link *is* the owner, and needs no task and no lock. Callers hand in orders and wait. Cancelling a
caller drops the answer, never the exchange; an order that nobody waits for any more is not sent.
"""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from hostctl.errors import LinkError, PortError
from hostctl.link.alarm import Alarm
from hostctl.link.faults import link_error
from hostctl.link.heard import Heard
from hostctl.link.order import Order
from hostctl.link.patience import Patience
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
from hostctl.protocol.numbering import checked
from hostctl.protocol.replies import events_in
from hostctl.protocol.states import Cause, Done, Down, Fault, Idle, Output, Send, Settling

News = Event | Fault
"""What `on_news` is told: temperatures, requests and banners whenever they come; anything that
comes while no order is out; and a fault, once, when the line goes down."""


_ALWAYS_NEWS = (TemperatureReported, HostAsked, Banner)


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
        """url, settings: the port. open_port: opens it. noise: when the line is too noisy.

        on_news: told what nobody asked for, as it comes; it must not raise. Make the link in the
        event loop that it will live in.
        """
        self.url = url
        self.on_fault: Callable[[LinkError], None] | None = None
        self._settings = settings
        self._open_port = open_port
        self._noise = noise
        self._patience = patience or Patience()
        self._on_news = on_news
        self._loop = asyncio.get_running_loop()
        self.wire_log = WireLog(self._loop.time)
        self._port: Port | None = None
        self._exchange = Exchange(noise)
        self._splitter = LineSplitter()
        self._orders: deque[Order] = deque()
        self._current: Order | None = None
        self._finished: tuple[Order, int] | None = None
        self._deadline_s = self._patience.greet_s
        self._deadline = Alarm(self._deadline_passed)
        self._quiet = Alarm(self._fell_quiet)
        self._settled_by_s: float | None = None
        self._down = LinkError(url, "the line is not open yet", "Connect first.")
        self._is_up = False
        self._heard = Heard()

    @asynccontextmanager
    async def running(self) -> AsyncIterator["Link"]:
        """Close the port and fail whoever still waits, at the end."""
        try:
            yield self
        finally:
            self._fail(LinkError(self.url, "the line was closed", "Connect again."))
            await self._close_port()

    @property
    def is_up(self) -> bool:
        """Whether orders are taken."""
        return self._is_up

    @property
    def lines_sent(self) -> int:
        """Commands sent since the last connect, the opening included."""
        return self._exchange.lines_sent

    @property
    def resends(self) -> int:
        """Lines sent again since the last connect, for whatever reason."""
        return self._exchange.resends

    def wire_text(self) -> str:
        """The wire log as text."""
        return self.wire_log.text()

    async def connect(self, patience_s: float = 0.0) -> Greeting:
        """Open the port (again) and agree with the controller.

        patience_s: how long to wait for a port that is not there, or not free.
        Raises PortError, or LinkError if nothing intelligible answers.
        """
        self._fail(LinkError(self.url, "the line was opened anew", "Give the order again."))
        await self._close_port()
        self._port = await self._opened(patience_s)
        self._heard = Heard()
        self.wire_log.remark(f"opened {self._port.name}")
        self._port.start(self._bytes_came, self._port_lost)
        try:
            async with asyncio.timeout(self._patience.boot_s):
                greeting = await self._greeted()
        except TimeoutError as cause:
            error = self._heard.error(self.url, self._settings.baud)
            self._fail(error)
            raise error from cause
        self._is_up = True
        return greeting

    async def do(self, command: str, *, deadline_s: float, heating: bool = False) -> Reply:
        """Have `command` executed, in turn, and give what came back.

        deadline_s: from its sending, or the last sign that it is being worked on: a busy line,
        and for `heating` a temperature report. When it passes the line is sent again; when it
        passes twice the link is down.
        Raises LinkError when the link is or goes down; ValueError for a command that may not go
        out (`protocol.numbering.checked`).
        """
        return await self.order(command, deadline_s=deadline_s, heating=heating)

    def order(
        self, command: str, *, deadline_s: float, heating: bool = False
    ) -> asyncio.Future[Reply]:
        """As `do`, but only queue it: several orders given together follow each other directly.

        Raises as `do`. Each future must be awaited, or cancelled, which drops the answer.
        """
        if not self._is_up:
            raise _again(self._down)
        return self._order(command, deadline_s, heating)

    def halt(self) -> None:
        """Send M112 at once, ahead of everything, whatever state the link is in."""
        if self._port is not None:
            self._carry_out(self._exchange.halt())

    def _order(
        self, command: str, deadline_s: float, heating: bool = False
    ) -> asyncio.Future[Reply]:
        order = Order(checked(command), deadline_s, heating, self._loop.create_future())
        self._orders.append(order)
        if self._current is None and self._finished is None:
            self._next_order()
        elif self._orders[0] is order:
            self._exchange.prepare(command)
        return order.answer

    async def _opened(self, patience_s: float) -> Port:
        give_up_s = self._loop.time() + patience_s
        while True:
            try:
                return await self._open_port(self.url, self._settings)
            except PortError:
                if self._loop.time() >= give_up_s:
                    raise
            await asyncio.sleep(self._patience.look_s)

    async def _close_port(self) -> None:
        port, self._port = self._port, None
        self._deadline.close()
        self._quiet.close()
        if port is not None:
            await port.close()
            self.wire_log.remark(f"closed {port.name}")

    async def _greeted(self) -> Greeting:
        """Agree on numbers, then ask who is there, until both are had."""
        while True:
            self._exchange = Exchange(self._noise)
            self._splitter = LineSplitter()
            try:
                await self._order(OPENING, self._patience.greet_s)
                while True:
                    greeting = Greeting.of(await self._order("M115", self._patience.greet_s))
                    if greeting.firmware or greeting.capabilities:
                        return greeting
            except LinkError:
                if self._last_cause() not in (Cause.RESET, Cause.SILENT):
                    raise  # otherwise it was still booting: greet it once more

    def _last_cause(self) -> Cause | None:
        match self._exchange.state:
            case Down(fault=fault):
                return fault.cause
            case _:
                return None

    def _bytes_came(self, data: bytes) -> None:
        self._heard.bytes += len(data)
        for line in self._splitter.feed(data):
            self.wire_log.received(line)
            for event in events_in(line):
                self._take(event)
        self._go_on()

    def _go_on(self) -> None:
        """After all that came was taken in, as an `ok` too many may be in it: what is due now.

        The next line goes out before anything else is seen to: the machine waits for it.
        """
        self._next_order()
        if self._finished is not None:
            (order, line), self._finished = self._finished, None
            if not order.answer.done():
                order.answer.set_result(
                    Reply(command=order.command, line=line, events=tuple(order.events))
                )
            if self._orders:
                self._exchange.prepare(self._orders[0].command)
        self._look_after_quiet()

    def _take(self, event: Event) -> None:
        order = self._current
        if not isinstance(event, Unrecognised):
            self._heard.understood = True
        if order is not None:
            self._note(order, event)
        if order is None or isinstance(event, _ALWAYS_NEWS):
            self._on_news(event)
        self._carry_out(self._exchange.receive(event))

    def _note(self, order: Order, event: Event) -> None:
        match event:
            case ResendAsked() | ErrorSaid(last_line=int()):
                return  # about the line, not about the command
            case Busy():
                self._start_deadline(order.deadline_s)
            case TemperatureReported() if order.heating:
                self._start_deadline(order.deadline_s)
        order.events.append(event)

    def _carry_out(self, outputs: list[Output]) -> None:
        for output in outputs:
            match output:
                case Send(data=data):
                    self._write(data)
                case Done(line=line):
                    self._finish(line)
                case Fault() as fault:
                    self._go_down(fault)

    def _write(self, data: bytes) -> None:
        if self._port is not None:
            self.wire_log.sent(data)
            self._port.write(data)
            self._start_deadline(self._deadline_s)

    def _start_deadline(self, deadline_s: float) -> None:
        self._deadline.set(self._loop.time() + deadline_s)

    def _finish(self, line: int) -> None:
        if self._current is not None:
            self._finished = self._current, line
            self._current = None

    def _next_order(self) -> None:
        while self._orders and isinstance(self._exchange.state, Idle):
            order = self._orders.popleft()
            if not order.answer.done():
                self._current = order
                self._deadline_s = order.deadline_s
                self._carry_out(self._exchange.submit(order.command))

    def _look_after_quiet(self) -> None:
        if isinstance(self._exchange.state, Settling):
            now_s = self._loop.time()
            if self._settled_by_s is None:
                self._settled_by_s = now_s + self._patience.settle_s
            self._quiet.set(min(now_s + self._patience.quiet_s, self._settled_by_s))
        elif self._settled_by_s is not None:
            self._settled_by_s = None
            self._quiet.clear()

    def _deadline_passed(self) -> None:
        line = self._exchange.outstanding
        if line is not None:  # otherwise it was answered in time
            self.wire_log.remark(f"the deadline of line {line} passed")
            self._carry_out(self._exchange.expire(line))
            self._go_on()

    def _fell_quiet(self) -> None:
        self._settled_by_s = None
        self._carry_out(self._exchange.quiet())
        self._go_on()

    def _port_lost(self, why: str) -> None:
        self._carry_out(self._exchange.gone(why))

    def _go_down(self, fault: Fault) -> None:
        self.wire_log.remark(f"down: {fault.text}")
        error = link_error(self.url, fault, self._current.command if self._current else "")
        was_up = self._is_up
        self._fail(error)
        if was_up:
            self._on_news(fault)
            if self.on_fault is not None:
                self.on_fault(error)

    def _fail(self, error: LinkError) -> None:
        """Take no more orders; whoever waits for one is told why."""
        self._is_up = False
        self._down = error
        self._deadline.clear()
        self._quiet.clear()
        self._settled_by_s = None
        waiting = [self._current, *self._orders] if self._current else [*self._orders]
        self._current = None
        self._orders.clear()
        for order in waiting:
            if not order.answer.done():
                order.answer.set_exception(_again(error))


def _again(error: LinkError) -> LinkError:
    """The same words in an exception of its own: one that is raised twice grows at each raise."""
    return LinkError(error.where, error.what, error.next_step)
