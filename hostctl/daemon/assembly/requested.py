"""From a request to a plan: the study named, or the run to go on with, as its files were then."""

from collections.abc import Callable, Sequence

from hostctl.config.directory import Directory
from hostctl.daemon.assembly.plan import Plan, kept_plan, plan_from
from hostctl.errors import DaemonError
from hostctl.run.station import StartRequest
from hostctl.store.rows import RunRecord, RunSummary
from hostctl.store.store import Store


class Requested:
    """Looks requests up in the directory in use and in the store."""

    def __init__(self, directory: Callable[[], Directory], store: Store) -> None:
        self._directory = directory
        self._store = store

    async def plan_for(self, request: StartRequest, machine: str) -> tuple[Plan, RunRecord | None]:
        """What to carry out on `machine`. Raises ConfigError, StoreError or DaemonError."""
        if request.resume is not None:
            record = await self.resumable(request.resume, machine)
            return kept_plan(request.resume, record.summary.new), record
        directory = self._directory()
        filed = directory.studies.get(request.study or "")
        if filed is None:
            raise DaemonError(machine, f"no study is called '{request.study}'", "See its studies.")
        return plan_from(filed.source, directory.machines[machine].source), None

    async def resumable(self, run: int, machine: str | None) -> RunRecord:
        """The run to go on with. Raises DaemonError when it can't be, StoreError without it."""
        record = await self._store.record(run)
        of = record.summary.new.machine
        if machine is not None and of != machine:
            raise DaemonError(f"run {run}", f"it is of machine '{of}'", f"Resume it on '{of}'.")
        if record.summary.complete:
            raise DaemonError(f"run {run}", "it is complete", f"See: hostctl show {run}")
        return record


def offer(runs: Sequence[RunSummary], machine: str) -> str:
    """What to say of a machine's last run when the daemon starts: the way to go on with it."""
    last = next((run for run in reversed(runs) if run.new.machine == machine), None)
    if last is None or last.complete:
        return ""
    why = "ended early" if last.ended_at else "was interrupted"
    return f"Run {last.run} {why}: hostctl start --resume {last.run}"
