"""`hostctl begin`: from an unknown printer to the first verdict, led at the terminal beside it."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.database import add_database, chosen_database

EXAMPLE = "hostctl begin"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "machine",
        nargs="?",
        metavar="NAME",
        help="the machine's name, to go on with one that was begun; asked for if left out",
    )
    parser.add_argument(
        "--folder",
        type=Path,
        default=Path(),
        metavar="DIR",
        help="where its files are written; the current folder if left out",
    )
    add_database(parser)


def act(args: Namespace) -> int:
    """Lead through it, as far as the person goes. Raises HostctlError."""
    from hostctl.cli.first_hour.hour import go_through
    from hostctl.cli.first_hour.sitting import Sitting

    go_through(Sitting(folder=args.folder, database=chosen_database(args)), args.machine)
    return 0
