"""The talk with one controller, from its opening to the fault that ends it.

Its theory stands in the room's `__init__`; this is it as a table.

State       input                       next state
---------   -------------------------   ------------------------------------------------------------
Idle        submit                      Waiting
Idle        a line is asked for         Settling, then go back to it if it is older
Waiting     ok                          Idle; Settling if anything had been sent twice
Waiting     ok without its proof        Settling, then the same line again; as `ok` if unreadable
Waiting     a line is asked for         Settling, then that line
Waiting     deadline, first; reminder   Waiting, the same line again
Waiting     deadline, second in silence Down: silent
Settling    ok that names the line      as Waiting, and so after its proof; others are absorbed
Settling    quiet                       Idle, or Waiting with the line sent again
any         banner, halt, noise, loss   Down (a banner before line 0 is agreed: ask again)
any         a thermal fault is told     Down, heaters told to be off; nothing more is sent
Down        anything else               Down

Line 0 is the opening, `M110 N0`: whatever is asked for before it is acknowledged is answered by it.
"""

from collections import deque
from dataclasses import replace

from hostctl.protocol.complaints import Gravity
from hostctl.protocol.events import (
    Acknowledged,
    Banner,
    ErrorSaid,
    Event,
    ResendAsked,
    Unrecognised,
)
from hostctl.protocol.noise import NoiseLimit, NoiseMeter
from hostctl.protocol.numbering import HALT, HEATERS_OFF, numbered, repeated
from hostctl.protocol.proof import proof_of
from hostctl.protocol.states import (
    Cause,
    Done,
    Down,
    Fault,
    Idle,
    Output,
    Send,
    Settling,
    State,
    Waiting,
)

OPENING = "M110 N0"
"""The first command of each exchange: both ends count from 0."""

HISTORY = 128
"""Lines kept for going back to."""

ERRORS_KEPT = 8
"""Complaints since the last order that are told with what ends the talk."""

MOST_DEADLINES = 5
"""A line is given up at this deadline even if something was heard each time."""


class Exchange:
    """One talk with one controller: commands, replies and passed deadlines in; outputs out.

    Begin with `submit(OPENING)`. Once Down it stays so; after a new opening of the port begin a
    new exchange. The numbers of lines sent and sent again are in `lines_sent` and `resends`.
    """

    def __init__(self, noise: NoiseLimit | None = None) -> None:
        self.state: State = Idle(0)
        self.lines_sent = 0
        self.resends = 0
        self.stray_oks = 0
        self._history: dict[int, bytes] = {}
        self._errors: deque[str] = deque(maxlen=ERRORS_KEPT)
        self._noise = NoiseMeter(noise or NoiseLimit())

    @property
    def outstanding(self) -> int | None:
        """The number of the line that is out; None: none is."""
        waiting = self._waiting()
        return waiting.line if waiting else None

    def submit(self, command: str) -> list[Output]:
        """Send `command` (lawful: see `numbering.checked`) as the next line; only when Idle."""
        if not isinstance(self.state, Idle):
            raise RuntimeError(f"a command may only be submitted when idle, not {self.state}")
        line = self.state.next_line
        data = self._history[line] = numbered(line, command)
        self._history.pop(line - HISTORY, None)
        self.state = Waiting(line, line, proof_of(command))
        self.lines_sent += 1
        self._errors.clear()
        return [Send(data)]

    def receive(self, event: Event) -> list[Output]:
        """The controller said `event`."""
        match event:
            case Acknowledged():
                return self._acknowledged(event.line)
            case ErrorSaid(gravity=Gravity.THERMAL, text=text):
                return self._overheated(text)
            case _ if isinstance(self.state, Down):
                return []
            case ResendAsked(line=line):
                return self._asked(line)
            case ErrorSaid(last_line=int(last), text=text):
                self._noise.complained(text)
                return self._asked(last + 1)
            case ErrorSaid(gravity=Gravity.STOPPED, text=text):
                return self._down(Cause.STOPPED, self._all_said(text))
            case ErrorSaid(text=text):
                self._errors.append(text)
                return self._seen(event)
            case Banner():
                return self._restarted()
            case _:
                return self._seen(event)

    def expire(self, line: int, *, heard: bool = False) -> list[Output]:
        """The deadline of `line` has passed. A deadline of an older line changes nothing.

        heard: any bytes at all came since it was last sent; then its answer was only damaged.
        """
        waiting = self._waiting()
        if waiting is None or waiting.line != line:
            return []
        passed = waiting.deadlines_passed + 1
        if line > 0 and passed >= (MOST_DEADLINES if heard else 2):
            return self._down(Cause.SILENT, f"line {line} was not answered, nor its repetition")
        return self._send_again(waiting._replace(deadlines_passed=passed))

    def remind(self, line: int) -> list[Output]:
        """Ask after `line`, which takes longer than it should, by sending it again.

        If it was done and its answer lost, that is said now; if it is still being worked on, the
        copy waits in the controller's buffer and is refused afterwards.
        """
        match self.state:
            case Waiting(line=out) as waiting if out == line:
                return self._send_again(waiting)
            case _:
                return []

    def quiet(self) -> list[Output]:
        """Nothing has arrived for a while."""
        match self.state:
            case Settling(then=Idle() as idle):
                self.state = idle
            case Settling(then=Waiting() as waiting, damaged=damaged):
                if damaged and self._noise.resend_asked(self.lines_sent + self.resends + 1):
                    return self._down(self._noise.fault.cause, self._noise.fault.text)
                return self._send_again(waiting)
        return []

    def halt(self) -> list[Output]:
        """Stop the machine at once, whatever is out. Works in every state, Down included."""
        return [Send(HALT), *self._down(Cause.HALTED, "halted by this program")]

    def gone(self, why: str) -> list[Output]:
        """The port has vanished, or a write to it failed."""
        return self._down(Cause.GONE, why)

    def _waiting(self) -> Waiting | None:
        match self.state:
            case (Waiting() as waiting) | Settling(then=Waiting() as waiting):
                return waiting
            case _:
                return None

    def _acknowledged(self, named: int | None) -> list[Output]:
        match self.state:
            case Waiting(at=at) as waiting if named is None or named == at:
                if named is None and waiting.lacks_proof:
                    self.state = Settling(waiting)
                    return []
                return self._taken_below(waiting, at + 1)
            case Settling(then=Waiting() as waiting) if named == waiting.at or (
                named is None and waiting.proven
            ):
                return self._taken_below(waiting, waiting.at + 1)
            case _:
                self.stray_oks += 1
                return []

    def _taken_below(self, waiting: Waiting, wanted: int) -> list[Output]:
        """The controller has taken every line below `wanted`."""
        line = waiting.line
        if wanted <= line:
            return self._send_again(waiting._replace(at=wanted, deadlines_passed=0, doubted=None))
        self.state = Settling(Idle(line + 1)) if waiting.repeats else Idle(line + 1)
        return [] if waiting.reported else [Done(line)]

    def _asked(self, wanted: int) -> list[Output]:
        match self.state:
            case Waiting() as waiting:
                return self._weigh(waiting, wanted)
            case Settling(then=Waiting() as waiting, damaged=damaged):
                if self._likely(waiting, wanted):  # the other half of a complaint, perhaps damaged
                    return self._weigh(waiting, wanted, damaged)
            case Idle(next_line=line) | Settling(then=Idle(next_line=line)):
                return self._asked_when_idle(line, wanted)
        return []

    def _asked_when_idle(self, next_line: int, wanted: int) -> list[Output]:
        if 1 < wanted < next_line and wanted in self._history:
            back = Waiting(next_line - 1, wanted, reported=True)
            self.state = Settling(back, damaged=True)
        else:
            self.state = Settling(Idle(next_line))
        return []

    def _weigh(self, waiting: Waiting, wanted: int, damaged: bool = False) -> list[Output]:
        """A line was asked for while one is out: obey, take as an answer, doubt, or give up."""
        if not self._likely(waiting, wanted):
            if waiting.doubted == wanted:
                return self._unreasonable(wanted)
            self.state = Settling(waiting._replace(doubted=wanted))
        elif waiting.line == 0:
            self.state = Settling(waiting)
        elif wanted > waiting.line:
            return self._taken_below(waiting, wanted)
        else:
            counts = damaged or wanted <= waiting.at
            self.state = Settling(waiting._replace(at=wanted, doubted=None), damaged=counts)
        return []

    def _likely(self, waiting: Waiting, wanted: int) -> bool:
        """Whether a controller that is in step could ask for `wanted` now."""
        if waiting.line == 0 or wanted == waiting.at:
            return True
        if wanted == waiting.line + 1:  # it has the line: only if there was a copy to refuse
            return waiting.repeats > 0
        return 1 < wanted <= waiting.line and wanted in self._history

    def _unreasonable(self, wanted: int) -> list[Output]:
        if wanted <= 1:
            return self._down(Cause.RESET, "the controller has begun to count lines from 1 again")
        return self._down(Cause.OUT_OF_STEP, f"line {wanted} was asked for, which it can't lack")

    def _restarted(self) -> list[Output]:
        match self.state:
            case Idle(next_line=0):
                return []
            case (Waiting(line=0) as opening) | Settling(then=Waiting(line=0) as opening):
                self.state = Settling(opening)
                return []
            case _:
                return self._down(Cause.RESET, "the controller has restarted")

    def _seen(self, event: Event) -> list[Output]:
        waiting = self._waiting()
        if waiting and waiting.proof and waiting.at == waiting.line:
            if isinstance(event, waiting.proof):
                self._note(waiting._replace(proven=True))
            elif isinstance(event, Unrecognised) and not waiting.repeats:
                self._note(waiting._replace(unreadable=True))
        return []

    def _note(self, waiting: Waiting) -> None:
        match self.state:
            case Settling() as settling:
                self.state = replace(settling, then=waiting)
            case _:
                self.state = waiting

    def _send_again(self, waiting: Waiting) -> list[Output]:
        self.resends += 1
        self.state = waiting._replace(repeats=waiting.repeats + 1)
        return [Send(repeated(self._history[waiting.at]))]

    def _overheated(self, text: str) -> list[Output]:
        match self.state:
            case Down(fault=Fault(cause=Cause.THERMAL)):
                return []
            case _:
                fault = Fault(Cause.THERMAL, self._all_said(text))
                self.state = Down(fault)
                return [Send(HEATERS_OFF), fault]

    def _all_said(self, last: str) -> str:
        """What was complained of since the last order, the first first."""
        return "; then: ".join([*self._errors, last])

    def _down(self, cause: Cause, text: str) -> list[Output]:
        if isinstance(self.state, Down):
            return []
        fault = Fault(cause, text)
        self.state = Down(fault)
        return [fault]
