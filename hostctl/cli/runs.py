"""`hostctl runs`: every run on record."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.database import add_database, chosen_database
from hostctl.report.table import table
from hostctl.store.reading import list_runs
from hostctl.store.rows import RunSummary

EXAMPLE = "hostctl runs"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_database(parser)


def act(args: Namespace) -> int:
    """Print the list. Raises StoreError."""
    runs = list_runs(chosen_database(args))
    heads = ["run", "started (UTC)", "study", "machine", "readings", "void", "ended"]
    print(table(heads, [_row(run) for run in runs], right={0, 4, 5}))
    return 0


def _row(run: RunSummary) -> list[str]:
    started = f"{run.new.started_at:%Y-%m-%d %H:%M}"
    if run.ended_at is None:
        end = "not ended"
    else:
        end = "complete" if run.complete else f"early: {run.end_reason}"
    return [
        str(run.run),
        started,
        run.new.study,
        run.new.machine,
        str(run.readings),
        str(run.void),
        end,
    ]
