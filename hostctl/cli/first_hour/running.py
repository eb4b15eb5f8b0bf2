"""A run that is carried out in the course of the first hour, at the same terminal."""

from pathlib import Path

from hostctl.cli.main import COMMANDS
from hostctl.cli.parsing import understood
from hostctl.cli.run import tell_end
from hostctl.cli.session import Session, carry_out_session
from hostctl.config.yaml_text import Source
from hostctl.daemon.assembly.plan import kept_plan, plan_from
from hostctl.store.reading import list_runs, read_record


def carried_out(database: Path, study: Source, machine: Source) -> int:
    """The run's number, once it is complete; the last one, where it stopped, is gone on with.

    Raises RunStopped where it is not complete, and HostctlError.
    """
    plan = plan_from(study, machine)
    stopped = stopped_run(database, plan.study.study, plan.machine.machine)
    record = read_record(database, stopped) if stopped else None
    if record is not None:
        plan = kept_plan(record.summary.run, record.summary.new)
    finished = carry_out_session(
        Session(
            plan=plan,
            database=database,
            channels={"terminal": {}},
            seed=record.summary.new.seed if record else None,
            resume=record,
        )
    )
    words = [study.where, "--machine", machine.where, "--database", str(database)]
    tell_end(finished, understood("run", words, COMMANDS)[1], database)
    return finished.run


def stopped_run(database: Path, study: str, machine: str) -> int | None:
    """The last run of this study on this machine, where it is not complete. Raises StoreError."""
    if not database.exists():
        return None
    same = [
        run for run in list_runs(database) if (run.new.study, run.new.machine) == (study, machine)
    ]
    return same[-1].run if same and not same[-1].complete else None
