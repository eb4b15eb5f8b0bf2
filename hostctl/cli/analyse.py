"""`hostctl analyse RUN|FILE …`: from readings to a statement that can be defended."""

import sys
from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime

from hostctl.cli.database import chosen_database
from hostctl.cli.gathered import gathered
from hostctl.cli.sources import add_sources
from hostctl.cli.telling import add_json, tell
from hostctl.report.analysis.analysis import analyse, kept, noted

EXAMPLE = "hostctl analyse 2 --explain"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_sources(parser)
    parser.add_argument("--explain", action="store_true", help="formulas with these numbers too")
    add_json(parser)


def act(args: Namespace) -> int:
    """Analyse and print. Raises StoreError, DataError, UsageError."""
    of = gathered(args)
    found = analyse(of.material, of.rig, of.wish)
    found = kept(found, of.material, of.wish.look, chosen_database(args), datetime.now(UTC))
    from hostctl.report.analysis.document import ANALYSIS

    for remark in of.remarks:
        print(remark, file=sys.stderr)  # before anything is believed
    if of.has_remarks:
        found = noted(found, of.remarks_on(ANALYSIS.data(found)))
    tell(ANALYSIS, found, as_json=args.json, explained=args.explain)
    return 0
