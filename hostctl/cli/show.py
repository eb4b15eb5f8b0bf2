"""`hostctl show RUN`: the verdict of a run, and its readings."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import run_number
from hostctl.report.analysis.readings_table import readings_table
from hostctl.report.analysis.verdict import verdict_text
from hostctl.report.sources.rig_check import rig_check_for
from hostctl.store.reading import read_record

EXAMPLE = "hostctl show 2 --readings"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "run", type=run_number, metavar="RUN", help="its number, as `hostctl runs` lists"
    )
    parser.add_argument("--readings", action="store_true", help="list every reading too")
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises StoreError."""
    database = chosen_database(args)
    print(verdict_of(database, args.run))
    if args.readings:
        print(f"\n{readings_table(read_record(database, args.run))}")
    return 0


def verdict_of(database: Path, run: int) -> str:
    """The run's verdict beside the rig check that fits it best. Raises StoreError."""
    record = read_record(database, run)
    choice = rig_check_for(database, run)
    rig = read_record(database, choice.run) if choice is not None else None
    return verdict_text(record, rig, choice)
