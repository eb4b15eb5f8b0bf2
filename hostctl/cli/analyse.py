"""`hostctl analyse RUN|FILE.csv …`: from readings to a statement that can be defended."""

from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime

from hostctl.cli.database import chosen_database
from hostctl.cli.sources import add_sources, check_once, material_of, rig_of, wish_of
from hostctl.cli.telling import add_json, tell
from hostctl.report.analysis.analysis import analyse, kept
from hostctl.report.sources.material import only, together

EXAMPLE = "hostctl analyse 2 --explain"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_sources(parser)
    parser.add_argument("--explain", action="store_true", help="formulas with these numbers too")
    add_json(parser)


def act(args: Namespace) -> int:
    """Analyse and print. Raises StoreError, DataError, UsageError."""
    check_once(args)
    materials = [material_of(args, source) for source in args.sources]
    material = only(together(materials), args.method, args.operator)
    wish = wish_of(args, material)
    found = analyse(material, rig_of(args, material), wish)
    found = kept(found, material, wish.look, chosen_database(args), datetime.now(UTC))
    from hostctl.report.analysis.document import ANALYSIS

    tell(ANALYSIS, found, as_json=args.json, explained=args.explain)
    return 0
