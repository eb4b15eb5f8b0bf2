"""`hostctl level --machine M`: the bed levelled by its screws; or what a table of heights says."""

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import number, seed
from hostctl.cli.run import add_channels, channels_for, tell_end
from hostctl.errors import UsageError

if TYPE_CHECKING:
    from hostctl.config.yaml_text import Source

EXAMPLE = "hostctl level --machine sim-220 --simulated-people"
STUDY = "level"
"""The study that is carried out where none is named."""
TABLE = ".csv"
"""What is named like this is a table of heights."""


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "study",
        nargs="?",
        default=STUDY,
        metavar="STUDY|HEIGHTS.csv",
        help="a study of kind level, `level` if left out; or a table of heights (x_mm, y_mm, "
        "height_mm), of which is said how the screws are to be turned",
    )
    parser.add_argument(
        "--machine",
        metavar="M",
        help="a machine file, or the short name of one; a table can do without: then no turns",
    )
    parser.add_argument(
        "--within", type=number, metavar="MM", help="good enough, in place of the study's"
    )
    parser.add_argument(
        "--keep", metavar="NAME", help="a screw or a point that stays as high as it is"
    )
    parser.add_argument(
        "--raise",
        dest="raise_mm",
        type=number,
        metavar="MM",
        help="the whole bed up by so much; below 0: down",
    )
    parser.add_argument("--seed", type=seed, metavar="N", help="recorded with the run")
    table = parser.add_argument_group("of a table")
    table.add_argument("--explain", action="store_true", help="formulas with these numbers too")
    table.add_argument("--json", action="store_true", help="the figures for other programs")
    add_channels(parser)
    add_database(parser)


def act(args: Namespace) -> int:
    """Carry it out. Raises HostctlError; RunStopped when it ended before it was done."""
    if args.study.lower().endswith(TABLE):
        return _say_of_table(args)
    if args.machine is None:
        raise UsageError("hostctl level", "--machine is missing", "See: hostctl level --help")
    from hostctl.cli.session import Session, carry_out_session
    from hostctl.daemon.assembly.plan import machine_file, plan_from, study_file

    plan = plan_from(_as_asked(study_file(args.study), args), machine_file(args.machine))
    if plan.study.kind != "level":
        raise UsageError(
            args.study,
            f"is a study of kind {plan.study.kind}, which levels nothing",
            f"Carry it out with: hostctl run {args.study} --machine {args.machine}",
        )
    database = chosen_database(args)
    finished = carry_out_session(
        Session(
            plan=plan,
            database=database,
            channels=channels_for(args, plan),
            seed=args.seed,
        )
    )
    return tell_end(finished, args, database)


def _say_of_table(args: Namespace) -> int:
    from hostctl.cli.telling import tell
    from hostctl.config.load import machine_from
    from hostctl.daemon.assembly.plan import machine_file
    from hostctl.report.kinds.levelling.document import LEVELLING
    from hostctl.report.kinds.levelling.found.from_table import levelling_of_table

    machine = machine_from(machine_file(args.machine)) if args.machine is not None else None
    found = levelling_of_table(
        Path(args.study),
        machine,
        within_mm=args.within,
        keep=args.keep,
        raise_mm=args.raise_mm or 0.0,
    )
    tell(LEVELLING, found, as_json=args.json, explained=args.explain)
    return 0


def _as_asked(study: "Source", args: Namespace) -> "Source":
    """The study as its file has it, but for what the options say; it is kept so with the run."""
    from hostctl.config.yaml_text import with_changes

    options = {"within_mm": args.within, "keep": args.keep, "raise_mm": args.raise_mm}
    changes: dict[tuple[str, ...], object] = {
        ("level", key): value for key, value in options.items() if value is not None
    }
    return with_changes(study, changes) if changes else study
