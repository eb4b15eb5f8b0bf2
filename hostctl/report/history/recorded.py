"""The history of a rig from its recorded checks."""

from collections.abc import Sequence
from pathlib import Path

from hostctl.errors import DataError, UsageError
from hostctl.report.history.checks import checks_of, checks_on, machines_checked
from hostctl.report.history.history import history_of_checks
from hostctl.report.history.result import History
from hostctl.report.sources.rig_check import ENOUGH
from hostctl.store.reading import list_runs
from hostctl.store.rows import RunSummary


def recorded_history(database: Path, asked: str | None, *, baseline: int | None) -> History:
    """What the rig checks of a machine say; `asked` may be left out where there is but one.

    Raises StoreError; DataError where none is on record; UsageError where it must be named.
    """
    runs = list_runs(database)
    machine = _machine(asked, runs)
    checks, left_out = checks_of(database, checks_on(runs, machine))
    if not checks:
        raise DataError(
            machine,
            f"none of its rig checks was done to its end, or has {ENOUGH} readings, and a spread",
            f"Run: hostctl run rig-check --machine {machine}",
        )
    return history_of_checks(f"the rig of {machine}", checks, left_out, baseline=baseline)


def _machine(asked: str | None, runs: Sequence[RunSummary]) -> str:
    known = machines_checked(runs)
    if asked is not None and asked in known:
        return asked
    if asked is None and len(known) == 1:
        return known[0]
    listed = ", ".join(known)
    if asked is None and known:
        what = f"several machines have rig checks: {listed}"
        raise UsageError("hostctl history", what, "Add --machine.")
    where = asked or "hostctl history"
    hint = f"Those that have: {listed}." if known else "Run: hostctl run rig-check --machine M"
    raise DataError(where, "no rig check of it is on record", hint)
