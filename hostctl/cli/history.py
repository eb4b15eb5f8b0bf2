"""`hostctl history`: whether a rig is still the rig it was, from its checks over time."""

import json
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import whole
from hostctl.errors import DataError, UsageError

if TYPE_CHECKING:
    from hostctl.report.history.checks import Check
    from hostctl.report.history.history import Series
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
    parser.add_argument("--json", action="store_true", help="the figures for other programs")
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises DataError, StoreError, UsageError."""
    if args.file is not None and args.machine is not None:
        raise UsageError("hostctl history", "a file and --machine exclude each other", "Keep one.")
    what, series, checks, left_out = (
        _from_file(Path(args.file), args.baseline) if args.file else _from_store(args)
    )
    if args.json:
        from hostctl.report.history.json import history_json

        print(json.dumps(history_json(what, series, checks, left_out), indent=2))
        return 0
    from hostctl.report.document.plain_ascii import fit_for
    from hostctl.report.history.text import history_text

    print(fit_for(sys.stdout, history_text(what, series, checks, left_out)))
    return 0


Told = tuple[str, "list[Series]", "list[Check]", list[str]]


def _from_file(path: Path, baseline: int | None) -> Told:
    from hostctl.report.history.file import history_points
    from hostctl.report.history.history import value_series

    points = history_points(path)
    if not points:
        raise DataError(str(path), "holds no value", "Write one row a check.")
    return f"what {path.name} follows", [value_series(points, baseline)], [], []


def _from_store(args: Namespace) -> Told:
    from hostctl.report.history.checks import checks_of, checks_on
    from hostctl.report.history.history import mean_series, spread_series
    from hostctl.report.sources.rig_check import ENOUGH
    from hostctl.store.reading import list_runs, read_record

    database = chosen_database(args)
    runs = list_runs(database)
    machine = _machine(args.machine, runs)
    records = [read_record(database, run) for run in checks_on(runs, machine)]
    checks, left_out = checks_of(records)
    if not checks:
        raise DataError(
            machine,
            f"none of its rig checks was done to its end, or has {ENOUGH} readings, and a spread",
            f"Run: hostctl run rig-check --machine {machine}",
        )
    series = [spread_series(checks, args.baseline), mean_series(checks, args.baseline)]
    return f"the rig of {machine}", [one for one in series if one is not None], checks, left_out


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
