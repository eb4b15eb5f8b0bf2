"""The option that names the database, the same for every command that needs one."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.errors import UsageError
from hostctl.store.file.location import database_path


def add_database(parser: ArgumentParser) -> None:
    """Declare `--database`."""
    parser.add_argument(
        "--database",
        metavar="PATH",
        help="the database; without it $HOSTCTL_DATABASE, else ~/.local/state/hostctl",
    )


def chosen_database(args: Namespace) -> Path:
    """The database that was named, or the usual one. Raises UsageError for an empty name."""
    if args.database == "":
        raise UsageError("--database", "its path is empty", "Name a file, or leave it out.")
    return Path(args.database) if args.database else database_path()
