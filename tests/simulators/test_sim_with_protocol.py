"""Our own protocol talks to the simulated board over a bad line, in simulated time."""

import pytest
from hostctl_simulators.agenda import Entry
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter

from hostctl.protocol.events import Busy
from hostctl.protocol.exchange import OPENING, Exchange
from hostctl.protocol.lines import LineSplitter
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.replies import events_in
from hostctl.protocol.states import Done, Fault, Idle, Output, Send, Settling

DEADLINE_S = 4.0
QUIET_S = 0.05
ANY_NOISE = NoiseLimit(share=1.0, window=100)

CYCLE = [
    *("G1 Z12 F600", "M400", "M114", "G1 X165 Y30 F6000", "M400", "M114"),
    *("G1 Z5 F300", "M400", "G4 P200", "M114", "M105", "M117 reading"),
]
STUDY = ["G28", "G90", *(CYCLE * 12)]


class Host:
    """Sends commands one after another through an `Exchange`; its clock is the agenda."""

    def __init__(self, url: str) -> None:
        self.printer = SimulatedPrinter(Description.parse(url))
        self.fault: Fault | None = None
        self.done = 0
        self._exchange = Exchange(ANY_NOISE)
        self._splitter = LineSplitter()
        self._timer: Entry | None = None
        self._commands: list[str] = []
        self.printer.connect(self._hear, lambda why: None)
        self.printer.agenda.run_all()  # booted

    def carry_out(self, commands: list[str]) -> None:
        self._commands = [OPENING, *commands]
        self._go_on([])
        self.printer.agenda.run_all()

    def _hear(self, data: bytes) -> None:
        for line in self._splitter.feed(data):
            for event in events_in(line):
                busy = isinstance(event, Busy)
                self._go_on(self._exchange.receive(event), alive=busy)
        if isinstance(self._exchange.state, Settling):
            self._after(QUIET_S, lambda: self._go_on(self._exchange.quiet()))

    def _go_on(self, outputs: list[Output], *, alive: bool = False) -> None:
        for output in outputs:
            match output:
                case Send(data=data):
                    self.printer.write(data)
                    alive = True
                case Done():
                    self.done += 1
                case Fault():
                    self.fault = output
        line = self._exchange.outstanding
        if alive and line is not None:
            self._after(DEADLINE_S, lambda: self._go_on(self._exchange.expire(line)))
        if isinstance(self._exchange.state, Idle) and self._commands:
            self._go_on(self._exchange.submit(self._commands.pop(0)))
        elif isinstance(self._exchange.state, Settling) and not alive:
            self._after(QUIET_S, lambda: self._go_on(self._exchange.quiet()))

    def _after(self, delay_s: float, act: object) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = self.printer.agenda.after(delay_s, act)  # type: ignore[arg-type]  # a lambda


BAD_LINES = [
    "corrupt=0.002",
    "corrupt=0.005",
    "lost_ok=0.05",
    "doubled_ok=0.05",
    "lost_ok=0.03&doubled_ok=0.03&corrupt=0.002",
]


@pytest.mark.parametrize("dialect", ["classic", "terse"])
@pytest.mark.parametrize("faults", BAD_LINES)
@pytest.mark.parametrize("seed", range(4))
def test_each_command_is_obeyed_once_in_order_or_the_fault_is_told(dialect, faults, seed):
    host = Host(f"sim://workshop-220?seed={seed}&dialect={dialect}&{faults}")
    host.carry_out(STUDY)
    board, counts = host.printer.board, host.printer.counts
    sound = {done.number: done.text for done in board.obeyed if not done.damaged and done.number}
    numbers = [done.number for done in board.obeyed if done.number]
    assert numbers == list(range(1, len(numbers) + 1))  # each once, in order
    assert sound == {number: STUDY[number - 1] for number in sound}
    assert len(sound) + len(counts.slipped) >= len(numbers)  # the rest is the position check's
    assert len(numbers) == len(STUDY) or host.fault is not None
    assert counts.slipped or host.printer.world.crashes == []


def test_a_clean_line_needs_no_repetition():
    host = Host("sim://workshop-220?seed=7")
    host.carry_out(STUDY)
    assert host.fault is None
    assert host.done == len(STUDY) + 1
    assert host.printer.counts.lines_refused == 0


def test_a_reset_in_mid_move_is_told():
    host = Host("sim://workshop-220?seed=7&reset_at_move=20")
    host.carry_out(STUDY)
    assert host.fault is not None
    assert host.fault.cause.value == "reset"
