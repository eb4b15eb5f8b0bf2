"""`hostctl export RUN`: its readings for other programs."""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import run_number
from hostctl.errors import HostctlError
from hostctl.store.export import export_csv, export_json

EXAMPLE = "hostctl export 2 --csv -o readings.csv"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "run", type=run_number, metavar="RUN", help="its number, as `hostctl runs` lists"
    )
    form = parser.add_mutually_exclusive_group(required=True)
    form.add_argument("--csv", action="store_true", help="a table, one line a reading")
    form.add_argument("--json", action="store_true", help="all that is known of the run")
    parser.add_argument(
        "-o", metavar="FILE", help="write there, a new file; without it on standard output"
    )
    add_database(parser)


def act(args: Namespace) -> int:
    """Write it. Raises StoreError, or HostctlError when the file can't be written."""
    write = export_csv if args.csv else export_json
    with _output(args.o) as out:
        write(chosen_database(args), args.run, out)
    return 0


@contextmanager
def _output(name: str | None) -> Iterator[TextIO]:
    if name is None:
        yield sys.stdout
        return
    path = Path(name)
    try:
        is_new = not path.exists()
        if path.is_file():
            raise HostctlError(
                name, "is there already", "Name another file, or move it away first."
            )
        with path.open("x" if is_new else "w", encoding="utf-8", newline="") as out:
            try:
                yield out
            except BaseException:
                if is_new:  # half a file would be in the way, and taken for a whole one
                    path.unlink()
                raise
    except OSError as cause:
        reason = (cause.strerror or str(cause)).lower()
        raise HostctlError(name, f"can't be written ({reason})", "Name another file.") from cause
