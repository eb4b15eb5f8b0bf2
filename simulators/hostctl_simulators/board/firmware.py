"""The controller: takes lines, carries commands out one after another, and answers.

A command is a generator (`deeds.py`) that yields what it waits for: a number of simulated seconds,
or `AT_REST` (all moves done), or `ROOM` (a place in the queue of moves). While one waits, up to
four more lines are taken and the rest stays in the receive buffer; every two seconds a busy line
says that it is still at work. The halt is looked for as bytes arrive and waits for nothing.
"""

from collections import deque
from collections.abc import Callable

from hostctl_simulators.agenda import Agenda, Entry
from hostctl_simulators.board.board_states import AT_REST, Deed, Obeyed, State, Until
from hostctl_simulators.board.carriage import Carriage
from hostctl_simulators.board.faults import Acknowledging, FaultCounts, FaultPlan
from hostctl_simulators.board.received_line import Command, Refusal, understand
from hostctl_simulators.board.reports import Reports
from hostctl_simulators.board.serial_side import SerialSide
from hostctl_simulators.board.strikes import Strikes
from hostctl_simulators.board.wording import Room, Wording
from hostctl_simulators.physical.world import World

BOOT_S = 1.6
BUSY_EVERY_S = 2.0
LINES_TAKEN = 4  # commands a board takes ahead of the one it carries out

FindDeed = Callable[["Firmware", Command], Deed]


class Firmware:
    """One board. `reset` starts it; `serial` is its end of the cable."""

    def __init__(
        self,
        agenda: Agenda,
        world: World,
        serial: SerialSide,
        wording: Wording,
        plan: FaultPlan,
        counts: FaultCounts,
        deed_of: FindDeed,
    ) -> None:
        self.world = world
        self.wording = wording
        self.state = State.OFF
        self.obeyed: list[Obeyed] = []
        self.messages: list[str] = []
        self.beeps = 0
        self.on_unplug: Callable[[float], None] = lambda replug_after_s: None
        self.carriage = Carriage(agenda, world, wording.idle_off_s)
        self.carriage.planner.on_room = self._go_on
        self.strikes = Strikes(self, agenda, plan, counts)
        self.carriage.on_begin = self.strikes.move_began
        self._agenda = agenda
        self._serial = serial
        self._plan = plan
        self._counts = counts
        self._oks = Acknowledging(plan, world.seed, counts)
        self._deed_of = deed_of
        self._wait: Entry | None = None  # the deed's, the boot's or the stall's
        self._busy: Entry | None = None
        self.reports = Reports(agenda, lambda: self.say(self.temperatures()))
        serial.on_arrival = self._take_lines
        serial.on_urgent = self._urgent
        self._forget()

    # ------------------------------------------------------------ starting and stopping

    @property
    def on(self) -> bool:
        """Whether it was ever switched on."""
        return self.state is not State.OFF

    def reset(self) -> None:
        """Start the board: buffers, position, line number and modes are gone; heaters go off."""
        self._forget()
        self._serial.deaf = True
        self.state = State.BOOTING
        self._wait = self._agenda.after(BOOT_S, self._greet)

    def switch_off(self) -> None:
        """Its power is gone: all that a reset forgets, and nothing is done or said."""
        self._forget()
        self.state = State.OFF

    def halt(self) -> None:
        """Stop everything at once; nothing is done until the next reset."""
        self._forget()
        self.state = State.HALTED
        self.say(self.wording.halted())

    def stop_itself(self, *, halts: bool) -> None:
        """What a board does for a fault of its own: heaters off, no move goes on.

        halts: it does nothing until the next reset; else it goes on acknowledging.
        """
        if halts:
            self._forget()
        else:
            self._cut_heaters()
            self.carriage.stop()
        self.state = State.HALTED if halts else State.STOPPED

    def go_on_after_stop(self) -> None:
        """M999: forget that it stopped itself."""
        if self.state is State.STOPPED:
            self.state = State.RUNNING

    def stall(self, for_s: float) -> None:
        """Neither read nor write for so long; what moves goes on moving."""
        self._counts.stalls += 1
        self.state = State.STALLED
        self._serial.deaf = True
        if for_s != float("inf"):
            self._agenda.after(for_s, self._wake)

    def _forget(self) -> None:
        for timer in (self._wait, self._busy):
            if timer is not None:
                timer.cancel()
        self.reports.every(0)
        self.carriage.forget()
        self._serial.forget()
        self._cut_heaters()
        self.outputs: dict[str, int] = {}  # fans and pins, as last set
        self.card_bytes: tuple[int, int] | None = None  # how far a job from its card has come
        self.ok_text = ""  # what rides on the next acknowledgement
        self._last_number = 0
        self._taken: deque[Command] = deque()
        self._command: Command | None = None
        self._deed: Deed | None = None
        self._waits_for: Until | None = None
        self._due = False  # the deed may go on, but the board is stalled

    def _cut_heaters(self) -> None:
        self.world.warm()
        self.world.nozzle_heater.target_c = self.world.bed_heater.target_c = 0.0

    def _greet(self) -> None:
        self.carriage.boot += 1
        self.state = State.RUNNING
        self._serial.forget()
        self._serial.deaf = False
        for line in self.wording.greeting(self.world.kind.name):
            self.say(line)

    def _wake(self) -> None:
        if self.state is State.STALLED:
            self.state = State.RUNNING
            self._serial.deaf = False
            if self._due:
                self._advance()
            self._take_lines()

    # ------------------------------------------------------------ talking

    def say(self, line: str) -> None:
        """Send one line."""
        self._serial.send(line)

    def temperatures(self) -> str:
        """The temperatures now, in the dialect's words."""
        self.world.warm()
        return self.wording.temperatures(self.world.nozzle_heater, self.world.bed_heater)

    def _room(self, line: int) -> Room:
        free = max(LINES_TAKEN - 1 - len(self._taken), 0)
        return Room(line=line, moves_free=self.carriage.planner.free - 1, lines_free=free)

    def _acknowledge(self, command: Command) -> None:
        number = self._last_number if command.number is None else command.number
        for _ in range(self._oks.copies(len(self.obeyed))):
            self.say(self.wording.ok(self._room(number), self.ok_text))
        self.ok_text = ""

    # ------------------------------------------------------------ taking lines

    def _take_lines(self) -> None:
        while self.state.listens and len(self._taken) < LINES_TAKEN:
            found = self._serial.next_line()
            if found is None:
                return
            self._take(*found)

    def _take(self, line: bytes, damaged: bool) -> None:
        if self.state is State.HALTED:
            if line.strip():
                self.say(self.wording.halted())
            return
        match understand(line, damaged=damaged, last_number=self._last_number):
            case Refusal(why=why):
                self._refuse(why)
            case Command() as command:
                self._note_number(command)
                self._taken.append(command)
                self._begin_next()
            case None:
                pass

    def _refuse(self, why: str) -> None:
        self._counts.lines_refused += 1
        self._serial.discard()
        last = self._last_number
        for line in self.wording.resend(why, last):
            self.say(line)
        if self.wording.acknowledges_resends:
            for _ in range(self._oks.copies()):
                self.say(self.wording.ok(self._room(last)))

    def _note_number(self, command: Command) -> None:
        if command.code == "M110":
            asked = command.number_of("N")
            given = command.number if asked is None else int(asked)
            self._last_number = self._last_number if given is None else given
        elif command.number is not None:
            self._last_number = command.number

    def _urgent(self, code: str) -> None:
        if code == "M112":
            self.halt()
        elif self.state is State.RUNNING:
            self.quick_stop()

    # ------------------------------------------------------------ carrying out

    def quick_stop(self) -> None:
        """Stop the moves, and the command that waits for them, at once."""
        self.carriage.stop()
        if self._waits_for is not None:
            self._finish()

    def _begin_next(self) -> None:
        if self._deed is not None or not self._taken or not self.state.works:
            return
        self._command = command = self._taken.popleft()
        self._note(command)
        if self.strikes.reset_at_command():
            return
        self._deed = self._deed_of(self, command)
        self._busy = self._agenda.after(BUSY_EVERY_S, self._still_busy, background=True)
        self.strikes.others_at_command()
        self._advance()

    def _note(self, command: Command) -> None:
        if command.damaged:
            self._counts.slipped.append(command.text)
        self.obeyed.append(
            Obeyed(
                number=command.number,
                text=command.text,
                damaged=command.damaged,
                boot=self.carriage.boot,
            )
        )

    def _advance(self) -> None:
        """Run the deed until it waits for something, or is done."""
        self._waits_for = None
        self._due = self.state is State.STALLED
        if self._due or self._deed is None:
            return
        for awaited in self._deed:
            if not isinstance(awaited, Until):
                self._wait = self._agenda.after(awaited, self._advance)
                return
            if not self._fulfilled(awaited):
                self._waits_for = awaited
                return
        self._finish()

    def _finish(self) -> None:
        self._deed = self._waits_for = None
        if self._busy is not None:
            self._busy.cancel()
        if self._command is not None:
            self._acknowledge(self._command)
            self._command = None
        self._begin_next()
        self._take_lines()

    def _fulfilled(self, awaited: Until) -> bool:
        planner = self.carriage.planner
        return planner.idle if awaited is AT_REST else planner.free > 0

    def _go_on(self) -> None:
        """A move has ended: go on with a deed that waited for it."""
        if self._waits_for is not None and self._fulfilled(self._waits_for):
            self._advance()

    def _still_busy(self) -> None:
        if self.state is State.RUNNING and self.wording.says_busy:
            self.say(self.wording.busy())
        self._busy = self._agenda.after(BUSY_EVERY_S, self._still_busy, background=True)
