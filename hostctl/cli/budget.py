"""`hostctl budget FILE`: what is known of a reading, from a list of what makes it doubtful."""

import json
import sys
from argparse import ArgumentParser, Namespace
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import seed
from hostctl.errors import ConfigError

if TYPE_CHECKING:
    from hostctl.config.budget import BudgetFile
    from hostctl.config.yaml_text import Source
    from hostctl.report.budget.budget import WorkedOut
    from hostctl.report.budget.mapping import RigSpread

EXAMPLE = "hostctl budget indicator-on-head --explain"
SEED = 1


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("file", metavar="FILE", help="a budget file, or the short name of one")
    parser.add_argument(
        "--explain", action="store_true", help="show the formulas with these numbers in them"
    )
    parser.add_argument("--json", action="store_true", help="the result for other programs")
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
    from hostctl.report.document.plain_ascii import fit_for

    worked = _worked_out(args)
    if args.json:
        from hostctl.report.budget.json import budget_json

        print(json.dumps(budget_json(worked), indent=2))
        return 0
    from hostctl.report.budget.text import budget_text

    print(fit_for(sys.stdout, budget_text(worked)))
    if args.explain:
        from hostctl.report.budget.explained import explanation

        print(fit_for(sys.stdout, f"\n{explanation(worked)}"))
    return 0


def _worked_out(args: Namespace) -> "WorkedOut":
    from hostctl.config.budget import budget_from
    from hostctl.config.find import find_file
    from hostctl.config.yaml_text import Source
    from hostctl.report.budget.budget import work_out

    source = Source.of(find_file(args.file, "budgets"))
    file = budget_from(source)
    rigs = _rigs(file, source, chosen_database(args))
    try:
        return work_out(file, rigs, seed=args.seed)
    except ValueError as why:
        from hostctl.report.document.reasons import error_words

        raise ConfigError(source.where, error_words(why), "Correct the file.") from why
    except ArithmeticError as why:
        what = "its numbers are too large or too small to combine"
        raise ConfigError(source.where, what, "Look for a wrong power of ten.") from why


def _rigs(file: "BudgetFile", source: "Source", database: Path) -> dict[int, "RigSpread"]:
    """The rig checks the file refers to, each by its run. Raises ConfigError, StoreError."""
    from hostctl.config.contributions import RigRepeatability
    from hostctl.config.yaml_text import parse
    from hostctl.report.budget.mapping import rig_spread
    from hostctl.report.sources.rig_check import named_rig_check
    from hostctl.store.reading import read_record

    rigs: dict[int, RigSpread] = {}
    for index, part in enumerate(file.parts):
        if not isinstance(part, RigRepeatability) or part.from_run is None:
            continue
        record = read_record(database, part.from_run)
        where = parse(source).at(("contributions", index, "rig_repeatability", "from_run"))
        kind = record.summary.new.kind
        if kind == "comparison":
            what = f"from_run: run {part.from_run} is a {kind}, in which people set the gap"
            raise ConfigError(where, what, "Name a rig check; see: hostctl runs")
        spread = rig_spread(record)
        if spread is None:
            what = f"from_run: run {part.from_run} has too few readings for a spread"
            raise ConfigError(where, what, "Name another; see: hostctl runs")
        doubts = named_rig_check(database, part.from_run, None).doubts
        rigs[part.from_run] = replace(spread, doubts=doubts)
    return rigs
