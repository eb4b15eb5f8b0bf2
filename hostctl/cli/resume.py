"""`hostctl resume RUN`: a stopped run gone on with, from the files kept with it."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import run_number
from hostctl.cli.run import add_channels, channels_for, tell_end
from hostctl.errors import UsageError

EXAMPLE = "hostctl resume 3"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "run", type=run_number, metavar="RUN", help="its number, as `hostctl runs` lists"
    )
    add_channels(parser)
    add_database(parser)


def act(args: Namespace) -> int:
    """Go on with it. Raises HostctlError; UsageError when it is complete already."""
    from hostctl.cli.session import Session, carry_out_session
    from hostctl.daemon.assembly.plan import kept_plan
    from hostctl.store.reading import read_record

    database = chosen_database(args)
    record = read_record(database, args.run)
    if record.summary.complete:
        raise UsageError(f"run {args.run}", "it is complete", f"See: hostctl show {args.run}")
    kept = record.summary.new
    plan = kept_plan(args.run, kept)
    finished = carry_out_session(
        Session(
            plan=plan,
            database=database,
            channels=channels_for(args, plan),
            seed=kept.seed,
            resume=record,
        )
    )
    return tell_end(finished, args, database)
