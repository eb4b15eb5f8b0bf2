"""`hostctl history`: whether a rig is still the rig it was, from its checks over time."""

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.cli.number import whole
from hostctl.cli.telling import add_json, tell
from hostctl.errors import DataError, UsageError

if TYPE_CHECKING:
    from hostctl.report.history.result import History

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
    if for_people() and not args.json and args.machine is not None:
        from hostctl.cli.next_steps.after_looking import after_history

        say_beside([*after_history(history, args.machine, chosen_database(args))])
    return 0


def _from_file(path: Path, baseline: int | None) -> "History":
    from hostctl.report.history.file import history_points
    from hostctl.report.history.history import history_of_values

    points = history_points(path)
    if not points:
        raise DataError(str(path), "holds no value", "Write one row a check.")
    return history_of_values(f"what {path.name} follows", points, baseline=baseline)


def _from_store(args: Namespace) -> "History":
    from hostctl.report.history.recorded import recorded_history

    asked = args.machine
    if asked is not None and asked.endswith((".yaml", ".yml")):
        from hostctl.config.load import load_machine

        asked = load_machine(Path(asked)).machine
    return recorded_history(chosen_database(args), asked, baseline=args.baseline)
