"""`hostctl history`: whether a rig is still the rig it was, from its checks over time."""

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import whole
from hostctl.cli.telling import add_json, tell
from hostctl.errors import DataError, UsageError

if TYPE_CHECKING:
    from hostctl.report.history.result import History
    from hostctl.store.rows import RunSummary

EXAMPLE = "hostctl history --machine workshop-220"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "file", nargs="?", metavar="FILE.csv", help="dates and values instead of recorded checks"
    )
    parser.add_argument(
        "--machine",
        metavar="M",
        help="whose rig checks, by its name or file; may be left out if there is but one",
    )
    parser.add_argument(
        "--baseline",
        type=whole(2),
        metavar="N",
        help="take the limits from the first N checks, when the rig was known to be good",
    )
    add_json(parser)
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises DataError, StoreError, UsageError."""
    if args.file is not None and args.machine is not None:
        raise UsageError("hostctl history", "a file and --machine exclude each other", "Keep one.")
    history = _from_file(Path(args.file), args.baseline) if args.file else _from_store(args)
    from hostctl.report.history.document import HISTORY

    tell(HISTORY, history, as_json=args.json)
    return 0


def _from_file(path: Path, baseline: int | None) -> "History":
    from hostctl.report.history.file import history_points
    from hostctl.report.history.history import history_of_values

    points = history_points(path)
    if not points:
        raise DataError(str(path), "holds no value", "Write one row a check.")
    return history_of_values(f"what {path.name} follows", points, baseline=baseline)


def _from_store(args: Namespace) -> "History":
    from hostctl.report.history.checks import checks_of, checks_on
    from hostctl.report.history.history import history_of_checks
    from hostctl.report.sources.rig_check import ENOUGH
    from hostctl.store.reading import list_runs

    database = chosen_database(args)
    runs = list_runs(database)
    machine = _machine(args.machine, runs)
    checks, left_out = checks_of(database, checks_on(runs, machine))
    if not checks:
        raise DataError(
            machine,
            f"none of its rig checks was done to its end, or has {ENOUGH} readings, and a spread",
            f"Run: hostctl run rig-check --machine {machine}",
        )
    return history_of_checks(f"the rig of {machine}", checks, left_out, baseline=args.baseline)


def _machine(asked: str | None, runs: "list[RunSummary]") -> str:
    """The machine meant: the one asked for, or the only one. Raises DataError, UsageError."""
    from hostctl.report.history.checks import machines_checked

    known = machines_checked(runs)
    if asked is not None and asked.endswith((".yaml", ".yml")):
        from hostctl.config.load import load_machine

        asked = load_machine(Path(asked)).machine
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
