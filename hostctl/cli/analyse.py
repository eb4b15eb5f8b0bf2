"""`hostctl analyse RUN|FILE …`: from readings to a statement that can be defended."""

import sys
from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime

from hostctl.cli.database import chosen_database
from hostctl.cli.gathered import Gathered, gathered
from hostctl.cli.next_steps.saying import say_after_run
from hostctl.cli.next_steps.step import Step, say_beside
from hostctl.cli.own_results import OwnFound, own_found, with_own
from hostctl.cli.sources import add_sources, is_report, is_run
from hostctl.cli.telling import add_json, print_data, tell
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
    own = own_found(args, of)
    if own is not None and not own.beside_analysis:
        _tell_own(args, of, own)
        _say_next(args, own.result)
        return 0
    from hostctl.report.analysis.document import ANALYSIS

    found = analyse(of.material, of.rig, of.wish)
    found = kept(found, of.material, of.wish.look, chosen_database(args), datetime.now(UTC))
    for remark in of.remarks:
        print(remark, file=sys.stderr)  # before anything is believed
    if of.has_remarks:
        found = noted(found, of.remarks_on(with_own(ANALYSIS, found, own)))
    if own is None:
        tell(ANALYSIS, found, as_json=args.json, explained=args.explain)
    elif args.json:
        print_data(with_own(ANALYSIS, found, own))
    else:
        from hostctl.report.document.as_text import as_text

        document = ANALYSIS.document(found, args.explain)
        print(as_text(own.below(document, explained=args.explain)))
    _say_next(args, found if own is None else own.result)
    return 0


def _say_next(args: Namespace, found: object) -> None:
    """Of one run by what it found; else as a report of the same."""
    if args.json:
        return
    asked = tuple(word for word in args.words if word != "--explain")
    if len(args.sources) == 1 and is_run(args.sources[0]):
        database, run = chosen_database(args), int(args.sources[0])
        say_after_run(database, run, found, by="analyse", asked=asked)
    elif not any(map(is_report, args.sources)):
        say_beside([Step(why="as one file to show to others", words=("report", *asked))])


def _tell_own(args: Namespace, of: Gathered, own: OwnFound) -> None:
    """A report says first what its data give otherwise now."""
    for remark in of.remarks_on(own.data):
        print(remark, file=sys.stderr)
    tell(own.question, own.result, as_json=args.json, explained=args.explain)
