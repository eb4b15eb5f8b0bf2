"""Which rig check a run is judged by."""

from collections.abc import Sequence

from hostctl.store.rows import RunSummary

RIG_CHECK = "rig-check"


def latest_rig_check(runs: Sequence[RunSummary], run: RunSummary) -> int | None:
    """The rig check to judge `run` by: the latest before it, else the latest; None without one."""
    checks = [
        other.run
        for other in runs
        if other.new.kind == RIG_CHECK
        and other.new.machine == run.new.machine
        and other.run != run.run
        and other.readings > other.void
    ]
    before = [check for check in checks if check < run.run]
    return max(before or checks, default=None)
