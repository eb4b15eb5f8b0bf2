"""A budget file worked out, with the rig checks on record that it refers to."""

import math
from pathlib import Path

from hostctl.config.budgets.budget import BudgetFile, budget_from
from hostctl.config.budgets.contributions import RigRepeatability
from hostctl.config.study_kind import words_of
from hostctl.config.yaml_text import Source, parse
from hostctl.errors import ConfigError
from hostctl.report.budget.budget import work_out
from hostctl.report.budget.result import RigSpread, UncertaintyBudget
from hostctl.report.document.reasons import error_words
from hostctl.report.sources.rig_check import named_rig_check
from hostctl.report.sources.rig_material import run_spread
from hostctl.store.reading import read_summary, reading_from_database


def budget_of_file(source: Source, database: Path, *, seed: int) -> UncertaintyBudget:
    """Raises ConfigError for what is wrong in the file; StoreError for a run that can't be read."""
    file = budget_from(source)
    rigs = _rigs(file, source, database)
    try:
        return work_out(file, rigs, seed=seed)
    except ValueError as why:
        raise ConfigError(source.where, error_words(why), "Correct the file.") from why
    except ArithmeticError as why:
        what = "its numbers are too large or too small to combine"
        raise ConfigError(source.where, what, "Look for a wrong power of ten.") from why


def _rigs(file: BudgetFile, source: Source, database: Path) -> dict[int, RigSpread]:
    """The rig checks the file refers to, each by its run."""
    rigs: dict[int, RigSpread] = {}
    for index, part in enumerate(file.parts):
        if not isinstance(part, RigRepeatability) or part.from_run is None:
            continue
        run = part.from_run
        where = parse(source).at(("contributions", index, "rig_repeatability", "from_run"))
        with reading_from_database(database) as connection:
            kind = read_summary(connection, database, run).new.kind
        if words_of(kind).people_set:
            what = f"from_run: run {run} is a {kind}, in which people set the gap"
            raise ConfigError(where, what, "Name a rig check; see: hostctl runs")
        spread = rig_spread(database, run)
        if spread is None:
            what = f"from_run: run {run} has too few readings for a spread"
            raise ConfigError(where, what, "Name another; see: hostctl runs")
        rigs[run] = spread
    return rigs


def rig_spread(database: Path, run: int) -> RigSpread | None:
    """The rig's standard deviation, rounding taken out; None where the run can't say."""
    found = run_spread(database, run)
    if found is None:
        return None
    spread, _ = found
    bound = spread.pattern != "spread"
    sd_mm = spread.interval.high if bound else getattr(spread.quoted, "value", math.nan)
    doubts = named_rig_check(database, run, None).doubts
    return RigSpread(run=run, sd_mm=sd_mm, df=spread.df, bound=bound, doubts=doubts)
