"""`hostctl budget FILE`: what is known of a reading, from a list of what makes it doubtful."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.step import explained, say_beside
from hostctl.cli.number import seed
from hostctl.cli.telling import add_json, tell

EXAMPLE = "hostctl budget indicator-on-head --explain"
SEED = 1


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", help="a budget file, or the short name of one")
    parser.add_argument(
        "--explain", action="store_true", help="show the formulas with these numbers in them"
    )
    add_json(parser)
    parser.add_argument(
        "--seed",
        type=seed,
        default=SEED,
        metavar="N",
        help=f"of the simulation, so that it comes out the same again; left out: {SEED}",
    )
    add_database(parser)


def act(args: Namespace) -> int:
    """Print the result. Raises ConfigError, StoreError, UsageError."""
    from hostctl.config.find import find_file
    from hostctl.config.yaml_text import Source
    from hostctl.report.budget.from_file import budget_of_file

    source = Source.of(find_file(args.file, "budgets"))
    found = budget_of_file(source, chosen_database(args), seed=args.seed)
    from hostctl.report.budget.document import BUDGET

    tell(BUDGET, found, as_json=args.json, explained=args.explain)
    say_beside([*explained("budget", args)], quiet=args.json)
    return 0
