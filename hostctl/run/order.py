"""What is to be carried out."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.config.together import why_no_touch
from hostctl.errors import MachineError
from hostctl.news import RunStarted
from hostctl.run.record.progress import Progress
from hostctl.store.file.program import program
from hostctl.store.rows import THERMAL_FAULT, NewRun, RunRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOrder:
    """A study on a machine. `resume`: go on with this run, by its own seed."""

    study: Study
    machine: Machine
    study_text: str
    machine_text: str
    seed: int
    resume: RunRecord | None = None

    def started(self, run: int, progress: Progress) -> RunStarted:
        """What is told as it begins, or goes on."""
        return RunStarted(
            run=run,
            study=self.study.study,
            machine=self.machine.machine,
            trials_total=progress.trials_total,
            trials_done=progress.trials_done,
            skipped=progress.skipped,
            resumed=self.resume is not None,
            asks_nobody=words_of(self.study.kind).asks_nobody,
            simulated=self.machine.simulated,
        )

    def check(self) -> None:
        """Raises MachineError for what must not begin, or go on, on this machine."""
        self._check_heat()
        self._check_tie()

    def _check_heat(self) -> None:
        """Raises MachineError for a run that heats and had a thermal fault: it doesn't go on."""
        record = self.resume
        if record is None or not self.study.heats:
            return
        if any(event.kind == THERMAL_FAULT for event in record.events):
            raise MachineError(
                f"run {record.summary.run}",
                "it heats the bed and had a thermal fault, so it is not gone on with",
                "Begin a new run, once the machine is mended.",
            )

    def _check_tie(self) -> None:
        """Raises MachineError where the nozzle would be wired and the bed may be on the mains."""
        tie = self.study.tie
        refused = why_no_touch(self.machine) if tie is not None and tie.by == "touch" else None
        if refused is not None:
            what, advice = refused
            raise MachineError("the tie by touch", what, advice)

    def new_run(self, now: Callable[[], datetime]) -> NewRun:
        """As it goes into the record when it begins."""
        return NewRun(
            study=self.study.study,
            title=self.study.title,
            kind=self.study.kind,
            machine=self.machine.machine,
            reference=self.study.reference.value,
            study_text=self.study_text,
            machine_text=self.machine_text,
            seed=self.seed,
            started_at=now(),
            program=program(),
        )
