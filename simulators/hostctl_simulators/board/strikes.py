"""When the faults of the plan strike: at a move, at a command, or when somebody says so."""

from collections.abc import Callable, Sequence
from typing import Protocol

from hostctl_simulators.agenda import Agenda
from hostctl_simulators.board.faults import FaultCounts, FaultPlan
from hostctl_simulators.board.wording import Wording
from hostctl_simulators.physical.world import World


class Board(Protocol):
    """What is struck."""

    wording: Wording
    on_unplug: Callable[[float], None]
    world: World

    @property
    def obeyed(self) -> Sequence[object]:
        """Each command so far."""
        ...

    def say(self, line: str) -> None:
        """Send one line."""
        ...

    def stop_itself(self, *, halts: bool) -> None:
        """As after a fault of its own."""
        ...

    def stall(self, for_s: float) -> None:
        """Do nothing for a while."""
        ...

    def reset(self) -> None:
        """Start anew."""
        ...

    def switch_off(self) -> None:
        """It has no power any more."""
        ...


class Strikes:
    """Those of one board."""

    def __init__(self, board: Board, agenda: Agenda, plan: FaultPlan, counts: FaultCounts) -> None:
        self._board = board
        self._agenda = agenda
        self._plan = plan
        self._counts = counts

    def heat_runs_away(self) -> None:
        """A heater can't be trusted: told, and the board halts or stops itself."""
        board, halts = self._board, bool(self._plan.thermal_halts)
        self._counts.thermal += 1
        board.stop_itself(halts=halts)
        board.say(board.wording.runaway())
        board.say(board.wording.halted() if halts else board.wording.stopped())

    def move_began(self, number: int, duration_s: float) -> None:
        """A move has begun."""
        if number == self._plan.reset_at_move:
            self._agenda.after(duration_s / 2, self._reset)

    def reset_at_command(self) -> bool:
        """A command is begun; True: the board has reset instead."""
        strikes = len(self._board.obeyed) == self._plan.reset_at_command
        if strikes:
            self._reset()
        return strikes

    def others_at_command(self) -> None:
        """A command was begun."""
        begun, plan = len(self._board.obeyed), self._plan
        if begun == plan.unplug_at_command:
            self._counts.unplugs += 1
            self._board.on_unplug(plan.replug_after_s)
        if begun == plan.thermal_at_command:
            self._agenda.after(plan.thermal_after_s, self.heat_runs_away)
        if begun == plan.power_cut_at_command:
            self._counts.power_cuts += 1
            self._board.switch_off()
            self._board.on_unplug(plan.power_back_after_s)
        if begun == plan.door_opened_at_command:
            move_door = self._board.world.move_door
            move_door(True)
            if plan.door_shut_after_s != float("inf"):
                self._agenda.after(plan.door_shut_after_s, lambda: move_door(False))
        if begun == plan.stall_at_command:
            self._board.stall(plan.stall_s)

    def _reset(self) -> None:
        self._counts.resets += 1
        self._board.reset()
