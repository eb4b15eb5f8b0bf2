"""What the command line names, as a checked plan: study and machine, with their texts."""

from dataclasses import dataclass, replace

from hostctl.config.find import find_file
from hostctl.config.grid import with_grid
from hostctl.config.load import machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.together import check_together
from hostctl.config.yaml_text import Source, parse
from hostctl.errors import ConfigError
from hostctl.store.rows import NewRun


def machine_file(name: str) -> Source:
    """The machine file meant by `name`. Raises ConfigError."""
    return Source.of(find_file(name, "machines"))


def study_file(name: str) -> Source:
    """The study file meant by `name`. Raises ConfigError."""
    return Source.of(find_file(name, "studies"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A study and a machine that fit each other, and the texts they came from."""

    study: Study
    machine: Machine
    study_text: str
    machine_text: str
    port_at: str
    """Where the machine file names its port: `file:line`."""


def plan_from(study: Source, machine: Source) -> Plan:
    """Check both files, and that they fit. Raises ConfigError."""
    plan = Plan(
        study=study_from(study),
        machine=machine_from(machine),
        study_text=study.text,
        machine_text=machine.text,
        port_at=parse(machine).at(("port",)),
    )
    check_together(plan.study, plan.machine, study)
    return replace(plan, machine=with_grid(plan.study, plan.machine))


def kept_plan(run: int, kept: NewRun) -> Plan:
    """The plan of a run to go on with, from the files kept with it.

    Raises ConfigError where they are not taken any more: limits may have become narrower since.
    What is kept is not changed, so such a run can't be gone on with.
    """
    study = Source(f"study of run {run}", kept.study_text)
    machine = Source(f"machine of run {run}", kept.machine_text)
    try:
        return plan_from(study, machine)
    except ConfigError as mistake:
        raise ConfigError(
            mistake.where,
            f"as kept by {kept.program} on {kept.started_at:%Y-%m-%d} it is not taken any more: "
            f"{mistake.what}",
            f"Run {run} can't be gone on with; its readings stay (hostctl show {run}). "
            "Correct that in your file, and begin the study anew.",
        ) from mistake
