"""`hostctl axis FILE`: how true an axis moves, by positions that somebody measured (ISO 230-2)."""

from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.next_steps.step import explained, say_beside
from hostctl.cli.number import number
from hostctl.cli.telling import add_json, tell

EXAMPLE = "hostctl axis positions.csv --calibrated-u 0.001"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "file",
        metavar="FILE.csv",
        help="a table with columns target_mm, side (up or down), reached_mm and, if wanted, run; "
        "other units may be named",
    )
    parser.add_argument(
        "--resolution",
        type=number,
        metavar="MM",
        help="what positions were read to; left out, as finely as they are written",
    )
    parser.add_argument(
        "--calibrated-u",
        type=number,
        metavar="MM",
        help="standard uncertainty of what measured them; left out, accuracy is not said",
    )
    parser.add_argument("--explain", action="store_true", help="show the formulas too")
    add_json(parser)


def act(args: Namespace) -> int:
    """Print the result. Raises DataError, UsageError."""
    from hostctl.errors import UsageError

    for option in ("resolution", "calibrated_u"):
        value = getattr(args, option)
        if value is not None and not value > 0:
            name = f"--{option.replace('_', '-')}"
            raise UsageError("axis", f"{name} {value:g} is not above 0", "Give mm.")
    from hostctl.report.kinds.axis.document import AXIS
    from hostctl.report.kinds.axis.found.from_table import axis_of_table

    found = axis_of_table(
        Path(args.file), resolution_mm=args.resolution, calibrated_u_mm=args.calibrated_u
    )
    tell(AXIS, found, as_json=args.json, explained=args.explain)
    say_beside([*explained("axis", args)], quiet=args.json)
    return 0
