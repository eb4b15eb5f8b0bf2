"""What is to be carried out."""

from dataclasses import dataclass
from datetime import datetime

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.study import Study
from hostctl.store.program import program
from hostctl.store.rows import NewRun, RunRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOrder:
    """What is to be carried out. `resume`: go on with this run, by its own seed."""

    study: Study
    machine: MachineFile
    study_text: str
    machine_text: str
    seed: int
    resume: RunRecord | None = None


def new_run(order: RunOrder, started_at: datetime) -> NewRun:
    """What is kept of a run as it begins."""
    return NewRun(
        study=order.study.study,
        title=order.study.title,
        kind=order.study.kind.value,
        machine=order.machine.machine,
        reference=order.study.reference.value,
        study_text=order.study_text,
        machine_text=order.machine_text,
        seed=order.seed,
        started_at=started_at,
        program=program(),
    )
