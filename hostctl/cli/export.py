"""`hostctl export RUN`: its readings for other programs."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.cli.number import run_number
from hostctl.cli.output import output
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
    with output(args.o) as out:
        write(chosen_database(args), args.run, out)
    if args.o is not None and args.csv and for_people():
        from hostctl.cli.next_steps.after_looking import after_export

        say_beside([*after_export(args.run, args.o, chosen_database(args))])
    return 0
