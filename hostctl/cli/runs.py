"""`hostctl runs`: every run on record."""

import sys
import textwrap
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from shutil import get_terminal_size

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.report.document.table import table
from hostctl.store.reading import list_runs
from hostctl.store.rows import RunSummary

EXAMPLE = "hostctl runs"
HEADS = ("run", "started (UTC)", "study", "machine", "readings", "void", "ended")
RIGHT = {0, 4, 5}
NARROWEST = 80
OTHER_COLUMNS = 52  # with the blanks between, for run numbers of up to three digits


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_database(parser)


def act(args: Namespace) -> int:
    """Print the list. Raises StoreError."""
    runs = list_runs(chosen_database(args))
    print(listed(runs, get_terminal_size().columns if sys.stdout.isatty() else None))
    if for_people():
        from hostctl.cli.next_steps.after_looking import after_runs

        say_beside([*after_runs(runs, chosen_database(args))])
    return 0


def listed(runs: Sequence[RunSummary], columns: int | None) -> str:
    """The list: for a terminal of so many columns with each reason below its run; else in lines."""
    if columns is None:
        return table(HEADS, [[*_facts(run), _end(run, whole=True)] for run in runs], right=RIGHT)
    rows = [[*_facts(run), _end(run, whole=False)] for run in runs]
    for row in rows:
        row[2], row[3] = (_short(name, columns) for name in row[2:4])
    head, rule, *lines = table(HEADS, rows, right=RIGHT).splitlines()
    indent = " " * (len(rule.split()[0]) + 2)
    told = [head, rule]
    for run, line in zip(runs, lines, strict=True):
        told.append(line)
        if run.ended_at is not None and not run.complete:
            told += textwrap.wrap(
                run.end_reason,
                max(columns, NARROWEST),
                initial_indent=indent,
                subsequent_indent=indent,
            )
    return "\n".join(told)


def _short(name: str, columns: int) -> str:
    """Two names share what the other columns leave."""
    room = (max(columns, NARROWEST) - OTHER_COLUMNS) // 2
    return name if len(name) <= room else f"{name[: room - 1]}…"


def _facts(run: RunSummary) -> list[str]:
    return [
        str(run.run),
        f"{run.new.started_at:%Y-%m-%d %H:%M}",
        run.new.study,
        run.new.machine,
        str(run.readings),
        str(run.void),
    ]


def _end(run: RunSummary, *, whole: bool) -> str:
    if run.ended_at is None:
        return "not ended"
    if run.complete:
        return "complete"
    return f"early: {run.end_reason}" if whole else "early"
