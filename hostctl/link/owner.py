"""The owner of one open port: it alone writes to it, from its opening to its end.

All of it runs in callbacks of the event loop, so nothing can come between two of its steps: it
needs no task and no lock. Callers hand in orders and wait. Cancelling a caller drops the answer,
never the exchange; an order that nobody waits for any more is not sent.
"""

import asyncio
from collections import deque
from collections.abc import Callable

from hostctl.errors import LinkError
from hostctl.link.alarm import Alarm
from hostctl.link.order import Order
from hostctl.link.patience import Patience
from hostctl.link.port import Port
from hostctl.link.reply import Reply
from hostctl.link.wire_log import WireLog
from hostctl.protocol.events import (
    Acknowledged,
    Banner,
    Busy,
    ErrorSaid,
    Event,
    HostAsked,
    ResendAsked,
    TemperatureReported,
    Unrecognised,
)
from hostctl.protocol.exchange import Exchange
from hostctl.protocol.lines import LineSplitter
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.numbering import checked
from hostctl.protocol.replies import events_in
from hostctl.protocol.states import Done, Down, Fault, Idle, Output, Send, Settling

TOLD_EVERY_S = 10.0
"""So often it is said again that an order takes long."""

SMALLEST_BUFFER_BYTES = 128
FRAME_BYTES = 16
"""Of a line sent again: its number, its checksum and three line ends."""

_ALWAYS_NEWS = (TemperatureReported, HostAsked, Banner, ErrorSaid)


class Owner:
    """One port and the exchanges over it. Once `fail`ed or down it takes no more orders."""

    def __init__(
        self,
        port: Port,
        wire_log: WireLog,
        *,
        noise: NoiseLimit | None,
        patience: Patience,
        on_event: Callable[[Event], None],
        on_fault: Callable[[Fault, str], None],
        on_wait: Callable[[Order, float], None] = lambda order, waited_s: None,
    ) -> None:
        """on_event: told the news. on_fault: told once why the line is down and during what.

        on_wait: told of an order that takes twice its usual time, and how long, again and again.
        """
        self.port = port
        self.bytes_heard = 0
        self.understood = False
        self.exchange: Exchange
        self._wire_log = wire_log
        self._noise = noise
        self._patience = patience
        self._on_event = on_event
        self._on_fault = on_fault
        self._loop = asyncio.get_running_loop()
        self._splitter: LineSplitter
        self._orders: deque[Order] = deque()
        self._current: Order | None = None
        self._answered: Order | None = None
        self._deadline_s = patience.greet_s
        self._heard_at_sending = 0
        self._deadline = Alarm(self._deadline_passed)
        self._quiet = Alarm(self._fell_quiet)
        self._on_wait = on_wait
        self._late = Alarm(self._takes_long)
        self._began_s = 0.0
        self._reminded_bytes = 0
        self._heard_at_look = 0
        self._settled_by_s: float | None = None
        self.begin()
        port.start(self._bytes_came, self._port_lost)

    def begin(self) -> None:
        """Begin a new exchange over the same port; its first order must be the opening."""
        self.exchange = Exchange(self._noise)
        self._splitter = LineSplitter()

    @property
    def fault(self) -> Fault | None:
        """Why the line is down; None if it is not."""
        match self.exchange.state:
            case Down(fault=fault):
                return fault
            case _:
                return None

    @property
    def rests(self) -> bool:
        """Whether no order is out and nothing irregular is being waited out."""
        return self._current is None and isinstance(self.exchange.state, Idle)

    async def fall_silent(self, first_s: float, hush_s: float) -> None:
        """Wait until nothing has come for `first_s`, or, once something came, for `hush_s`.

        A board that is never silent so long is waited for three times `first_s`.
        """
        heard, waited_s, silent_s, needed_s = self.bytes_heard, 0.0, 0.0, first_s
        while silent_s < needed_s and waited_s < 3 * first_s:
            step_s = min(hush_s, needed_s - silent_s)
            await asyncio.sleep(step_s)
            waited_s += step_s
            if self.bytes_heard == heard:
                silent_s += step_s
            else:
                heard, silent_s, needed_s = self.bytes_heard, 0.0, hush_s

    def order(
        self,
        command: str,
        deadline_s: float,
        heating: bool = False,
        usual_s: float | None = None,
    ) -> asyncio.Future[Reply]:
        """Queue a command. Raises ValueError if it may not go out."""
        answer = self._loop.create_future()
        order = Order(checked(command), deadline_s, heating, usual_s, answer)
        self._orders.append(order)
        if self._current is None and self._answered is None:
            self._next_order()
        return order.answer

    def halt(self) -> None:
        """Send the halt at once, whatever the state."""
        self._carry_out(self.exchange.halt())

    def fail(self, error: LinkError) -> None:
        """Tell whoever waits that it was in vain, and let the timers go."""
        self._deadline.close()
        self._quiet.close()
        self._late.close()
        self._settled_by_s = None
        waiting = [self._current, *self._orders] if self._current else [*self._orders]
        self._current = None
        self._orders.clear()
        for order in waiting:
            if not order.answer.done():
                order.answer.set_exception(again(error))

    def _bytes_came(self, data: bytes) -> None:
        self.bytes_heard += len(data)
        for line in self._splitter.feed(data):
            self._wire_log.received(line)
            for event in events_in(line):
                self._take(event)
        self._go_on()

    def _take(self, event: Event) -> None:
        order = self._current
        if not self.understood:
            self.understood = not isinstance(event, Unrecognised)
        if order is not None:
            self._note(order, event)
        if order is None or isinstance(event, _ALWAYS_NEWS):
            self._on_event(event)
        self._carry_out(self.exchange.receive(event))

    def _note(self, order: Order, event: Event) -> None:
        match event:
            case Acknowledged():
                pass
            case ResendAsked() | ErrorSaid(last_line=int()):
                return  # about the line, not about the command
            case Busy():
                self._deadline.set(order.deadline_s)
            case TemperatureReported() if order.heating:
                self._deadline.set(order.deadline_s)
        order.events.append(event)

    def _carry_out(self, outputs: list[Output]) -> None:
        for output in outputs:
            match output:
                case Send(data=data):
                    self._wire_log.sent(data)
                    self.port.write(data)
                    self._heard_at_sending = self.bytes_heard
                    self._deadline.set(self._deadline_s)
                case Done(line=line):
                    if self._current is not None:
                        self._current.line = line
                        self._answered, self._current = self._current, None
                case Fault() as fault:
                    self._wire_log.remark(f"down: {fault.text}")
                    self._on_fault(fault, self._current.command if self._current else "")

    def _go_on(self) -> None:
        """What is due, once all that came was taken in: an `ok` too many may have been in it.

        The next line goes out before anything else is seen to, as the machine waits for it.
        """
        if self._orders:
            self._next_order()
        if self._answered is not None:
            self._answered.hand_over()
            self._answered = None
        self._look_after_quiet()

    def _next_order(self) -> None:
        while self._orders and isinstance(self.exchange.state, Idle):
            order = self._orders.popleft()
            if not order.answer.done():
                self._current = order
                self._deadline_s = order.deadline_s
                self._carry_out(self.exchange.submit(order.command))
                if order.usual_s is not None:
                    self._began_s, self._reminded_bytes = self._loop.time(), 0
                    self._heard_at_look = self.bytes_heard
                    self._late.set(2 * order.usual_s)

    def _look_after_quiet(self) -> None:
        if isinstance(self.exchange.state, Settling):
            now_s = self._loop.time()
            if self._settled_by_s is None:
                self._settled_by_s = now_s + self._patience.settle_s
            self._quiet.set(min(self._patience.quiet_s, self._settled_by_s - now_s))
        elif self._settled_by_s is not None:
            self._settled_by_s = None
            self._quiet.clear()

    def _takes_long(self) -> None:
        """Say so, and, where nothing at all was heard, ask the controller after it."""
        order, line = self._current, self.exchange.outstanding
        if order is None or order.usual_s is None or line is None:
            return
        self._on_wait(order, self._loop.time() - self._began_s)
        heard, self._heard_at_look = self._heard_at_look, self.bytes_heard
        if self.bytes_heard == heard:
            for output in self.exchange.remind(line) if self._fits_its_buffer(order) else []:
                if isinstance(output, Send):
                    self._wire_log.sent(output.data)
                    self.port.write(output.data)
        self._late.set(TOLD_EVERY_S)

    def _fits_its_buffer(self, order: Order) -> bool:
        """Whether one more copy is certain to find room, should the controller not be reading."""
        self._reminded_bytes += len(order.command) + FRAME_BYTES
        return self._reminded_bytes <= SMALLEST_BUFFER_BYTES // 2

    def _deadline_passed(self) -> None:
        line = self.exchange.outstanding
        if line is not None:  # otherwise it was answered in time
            self._wire_log.remark(f"the deadline of line {line} passed")
            heard = self.bytes_heard > self._heard_at_sending
            self._carry_out(self.exchange.expire(line, heard=heard))
            self._go_on()

    def _fell_quiet(self) -> None:
        self._settled_by_s = None
        self._carry_out(self.exchange.quiet())
        self._go_on()

    def _port_lost(self, why: str) -> None:
        self._carry_out(self.exchange.gone(why))


def again(error: LinkError) -> LinkError:
    """The same words in an exception of its own: one that is raised twice grows at each raise."""
    return type(error)(error.where, error.what, error.next_step)
