"""`hostctl runs`: every run on record."""

import sys
import textwrap
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from shutil import get_terminal_size

from hostctl.cli.database import add_database, chosen_database
from hostctl.report.table import table
from hostctl.store.reading import list_runs
from hostctl.store.rows import RunSummary

EXAMPLE = "hostctl runs"
HEADS = ("run", "started (UTC)", "study", "machine", "readings", "void", "ended")
RIGHT = {0, 4, 5}
NARROWEST_END = 20


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_database(parser)


def act(args: Namespace) -> int:
    """Print the list. Raises StoreError."""
    runs = list_runs(chosen_database(args))
    print(listed(runs, get_terminal_size().columns if sys.stdout.isatty() else None))
    return 0


def listed(runs: Sequence[RunSummary], columns: int | None) -> str:
    """The list, no wider than a terminal of so many columns; how a run ended may take lines."""
    rows = [_row(run) for run in runs]
    if columns is not None:
        others = table(HEADS[:-1], [row[:-1] for row in rows])
        room = max(NARROWEST_END, columns - max(map(len, others.splitlines())) - 2)
        rows = [line for row in rows for line in _broken(row, room)]
    return table(HEADS, rows, right=RIGHT)


def _broken(row: list[str], room: int) -> list[list[str]]:
    first, *more = textwrap.wrap(row[-1], room)
    return [[*row[:-1], first], *([*[""] * len(row[:-1]), line] for line in more)]


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
