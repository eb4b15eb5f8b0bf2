"""The printer's own screen: a person heats a part there, or starts a job from the card."""

from dataclasses import replace
from typing import Literal

from hostctl_simulators.agenda import Agenda, Entry
from hostctl_simulators.board.firmware import Firmware
from hostctl_simulators.board.received_line import Command

JOB_BYTES = 100_000
STEP_S = 0.1
STEP_MM = 1.0
REACH_MM = 20.0
SPEED_MM_S = 30.0


class Panel:
    """What can be done at one printer without its host."""

    def __init__(self, agenda: Agenda, board: Firmware) -> None:
        self._agenda = agenda
        self._board = board
        self._step: Entry | None = None
        self._done_mm = 0.0
        self._pulled_at = ""

    def heat(self, part: Literal["nozzle", "bed"], target_c: float) -> None:
        """Aim a heater at `target_c`; 0: off."""
        world = self._board.world
        world.warm()
        heater = world.bed_heater if part == "bed" else world.nozzle_heater
        heater.target_c = target_c

    def targets_c(self) -> tuple[float, float]:
        """What nozzle and bed aim at."""
        world = self._board.world
        return world.nozzle_heater.target_c, world.bed_heater.target_c

    def obeyed(self) -> list[str]:
        """The commands that came over the line since it was switched on."""
        return [command.text for command in self._board.obeyed]

    def start_job(self) -> None:
        """A job from the card: the head goes to and fro until `end_job`."""
        self._board.card_bytes = (0, JOB_BYTES)
        self._go_on()

    def end_job(self) -> None:
        """The job is over."""
        self._board.card_bytes = None
        if self._step is not None:
            self._step.cancel()

    def switch_to_inches(self) -> None:
        """As a job leaves a board that says G20 and never G21."""
        self._board.carriage.mm_per_unit = 25.4

    def pull_cable_at(self, code: str) -> None:
        """Pull the cable when the next command with this code begins; back after 3 s."""
        self._pulled_at = code

    def look_at(self, command: Command) -> None:
        """A command is about to begin."""
        if command.code == self._pulled_at:
            self._pulled_at = ""
            self._board.on_unplug(3.0)

    def _go_on(self) -> None:
        if self._board.card_bytes is None:  # the board was reset, and the job with it
            return
        carriage = self._board.carriage
        if carriage.planner.free > 1:
            ahead = self._done_mm % (2 * REACH_MM) < REACH_MM
            to = replace(
                carriage.position, x_mm=carriage.position.x_mm + (STEP_MM if ahead else -STEP_MM)
            )
            carriage.go(to, SPEED_MM_S, Command(number=None, text="(own job)", damaged=False))
            self._done_mm += STEP_MM
        done, total = self._board.card_bytes
        self._board.card_bytes = (min(done + 20, total), total)
        self._step = self._agenda.after(STEP_S, self._go_on, background=True)
