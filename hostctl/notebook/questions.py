"""The questions of the command line asked from Python, for notebooks and scripts.

    >>> import hostctl
    >>> found = hostctl.analyse([0.02, 0.01, 0.03, 0.02, 0.04, 0.01], resolution_mm=0.01)
    >>> found.result.results[0].readings
    6
    >>> found.to_dict()["question"]
    'analysis'

Each answer is a `Found`: its `result` is typed and frozen, `print` tells it as the command does, a
notebook shows it as a page, and `to_dict` gives what `--json` gives.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TypeAlias

from hostctl.errors import DataError, UsageError
from hostctl.metrology.basis.reference import Reference
from hostctl.notebook.aim import aim_of
from hostctl.notebook.found import Found
from hostctl.notebook.recorded import Database, Run, open_database
from hostctl.report.analysis.analysis import Wish, kept
from hostctl.report.analysis.analysis import analyse as found_in
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.budget.document import BUDGET
from hostctl.report.budget.result import UncertaintyBudget
from hostctl.report.history.document import HISTORY
from hostctl.report.history.result import History, Point
from hostctl.report.planning.document import PLAN
from hostctl.report.planning.result import Plan
from hostctl.report.planning.wishes import LIMITS, POWER, RESOLUTION_MM, RIG_TRIALS, Wishes
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Material, check_rig, goal_for, only
from hostctl.report.sources.tables.given import Given, given_material
from hostctl.report.trueness.aimed import aimed

AnyReadings: TypeAlias = "Run | Given | str | Path"
"""A run on record, a CSV file, numbers in mm, or columns by name."""


def analyse(
    readings: "AnyReadings",
    *,
    resolution_mm: float | None = None,
    rig: "AnyReadings | None" = None,
    tolerance_mm: float | None = None,
    proportion: float | None = None,
    confidence: float | None = None,
    looks: int | None = None,
    margin: float = 1.5,
    target_mm: float | None = None,
    on_target_mm: float | None = None,
    tie_doubt_mm: float | None = None,
    reference: Reference | None = None,
    columns: Mapping[str, str] | None = None,
    method: str | None = None,
    operator: str | None = None,
) -> Found[Analysis]:
    """What readings prove, how certain it is, and by which reckoning.

    readings: a run on record; a CSV file by its path; numbers in mm; or columns by name, one row a
    reading, as a mapping, a record array or a data frame has them. Columns are found by the names
    that a CSV file may have (reading, method, operator, point, block, zero, void ...); `columns`
    says which is which where names don't tell.  resolution_mm: what numbers were read to; a run
    knows it, and a file may.
    rig: the rig check to take out, read to the same resolution; for a run the one that fits best is
    taken.  tolerance_mm: plus or minus.  proportion, confidence: of settings within it, and how
    sure. What is left out of these three is the study's own; the last two are else 0.95.  looks:
    how often the claim is judged in all, said at the first look; of a run each look is recorded.
    margin: the ratio of two spreads up to which they count
    as equally good.
    target_mm: the gap wanted, of readings that are gaps; a run with a tie has its study's own.
    on_target_mm: a mean gap no further off is on target; it is never said where nobody states it.
    tie_doubt_mm: standard uncertainty of where the gaps of a file or of numbers are 0; left out,
    they are taken as exact.
    reference: what numbers count from, "first", "previous" or "datum".  method,
    operator: only theirs.

        >>> import hostctl
        >>> table = {
        ...     "method": ["paper-slip"] * 4 + ["contact-light"] * 4,
        ...     "reading": [0.02, -0.03, 0.05, 0.01, 0.00, 0.01, 0.01, 0.02],
        ... }
        >>> found = hostctl.analyse(table, resolution_mm=0.01, tolerance_mm=0.05)
        >>> [one.method for one in found.result.results]
        ['contact-light', 'paper-slip']

    Raises DataError, StoreError, UsageError.
    """
    asked = _Asked(resolution_mm=resolution_mm, reference=reference, columns=columns)
    aim = aim_of(target_mm, on_target_mm, tie_doubt_mm, reference)
    gaps = asked if target_mm is None else replace(asked, reference="datum")
    material = only(aimed(_material(readings, gaps), aim), method, operator)
    goal = goal_for(
        material.goal, within_mm=tolerance_mm, proportion=proportion, confidence=confidence
    )
    database = readings.database if isinstance(readings, Run) else None
    look = look_at(database, material.seen, looks)
    wish = Wish(goal=goal, margin=margin, look=look)
    found = found_in(material, _rig(readings, rig, asked, material.machine), wish)
    return Found(ANALYSIS, kept(found, material, look, database, datetime.now(UTC)))


def plan(
    *,
    know_within: float | None = None,
    see_ratio: float | None = None,
    tolerance_mm: float | None = None,
    expected_sd_mm: float | None = None,
    bias_mm: float | None = None,
    run: Run | None = None,
    proportion: float | None = None,
    confidence: float | None = None,
    power: float = POWER,
    trial_seconds: float | None = None,
    resolution_mm: float = RESOLUTION_MM,
    rig_sd_mm: float | None = None,
    rig_trials: int = RIG_TRIALS,
    blocks: int = 1,
    pairs: int = 1,
) -> Found[Plan]:
    """How many trials it takes: to know a spread, to see that two differ, to prove a claim.

    know_within: a share of the true spread.  see_ratio: of two spreads.  tolerance_mm: the claim,
    were the truth `expected_sd_mm`, and `bias_mm` off a datum.  run: takes spreads, tolerance and
    time from it.  With none of these, an overview.
    resolution_mm, rig_sd_mm and rig_trials (of a rig check taken out), blocks, pairs (compared at
    once): what the study is taken to be.

        >>> import hostctl
        >>> hostctl.plan(know_within=0.2).result.know.trials
        49

    Raises DataError, StoreError, UsageError.
    """
    from hostctl.report.document.reasons import error_words
    from hostctl.report.planning.plan import Unanswerable
    from hostctl.report.planning.plan import plan as planned
    from hostctl.report.planning.run import past_run

    wishes = Wishes(
        know_within=know_within,
        see_ratio=see_ratio,
        within_mm=tolerance_mm,
        expected_sd_mm=expected_sd_mm,
        bias_mm=bias_mm,
        proportion=proportion,
        confidence=confidence,
        power=power,
        trial_seconds=trial_seconds,
        resolution_mm=resolution_mm,
        rig_sd_mm=rig_sd_mm,
        rig_trials=rig_trials,
        blocks=blocks,
        pairs=pairs,
    )
    for wish, (low, high) in LIMITS.items():
        value = getattr(wishes, wish)
        if value is not None and not low <= value <= high:
            name = "tolerance_mm" if wish == "within_mm" else wish
            what = f"{name} is {value:g}, must be from {low:g} to {high:g}"
            raise UsageError("hostctl.plan", what, "Mend it.")
    past = None if run is None else past_run(run.database, run.summary.run)
    try:
        return Found(PLAN, planned(wishes, past))
    except Unanswerable as why:
        cause = why.__cause__
        words = error_words(cause) if isinstance(cause, Exception) else "no number answers it"
        raise UsageError("hostctl.plan", f"{why.wish}: {words}", "Ask otherwise.") from why


def budget(
    file: str | Path, *, seed: int = 1, database: Database | None = None
) -> Found[UncertaintyBudget]:
    """How well a reading is known, from all that makes it doubtful.

    file: a budget file, or the short name of one.  seed: of the simulation.  database: where the
    rig checks are that the file may name.

        >>> import hostctl
        >>> hostctl.budget("indicator-on-head").to_dict()["question"]
        'budget'

    Raises ConfigError, StoreError, UsageError.
    """
    from hostctl.config.find import find_file
    from hostctl.config.yaml_text import Source
    from hostctl.report.budget.from_file import budget_of_file

    source = Source.of(find_file(str(file), "budgets"))
    path = (database or open_database()).path
    return Found(BUDGET, budget_of_file(source, path, seed=seed))


def history(
    checks: Database | Sequence[float] | Mapping[date, float],
    *,
    machine: str | None = None,
    baseline: int | None = None,
) -> Found[History]:
    """Whether a rig has changed, from its checks over time.

    checks: a database, of which the rig checks of `machine` are taken; or one value in mm a check,
    in order of time, by their dates where they are known.  baseline: take the limits from the first
    so many, when the rig was known to be good.

        >>> import hostctl
        >>> hostctl.history([0.007, 0.006, 0.008, 0.007, 0.009]).to_dict()["question"]
        'history'

    Raises DataError, StoreError, UsageError.
    """
    from hostctl.report.history.history import history_of_values

    if isinstance(checks, Database):
        from hostctl.report.history.recorded import recorded_history

        return Found(HISTORY, recorded_history(checks.path, machine, baseline=baseline))
    points = [
        Point(name=f"check {number}", when=when, value=value)
        for number, (when, value) in enumerate(_dated(checks), 1)
    ]
    if not points:
        raise DataError("checks", "there is no value", "Give one value a check.")
    return Found(HISTORY, history_of_values("what these follow", points, baseline=baseline))


def _dated(checks: Sequence[float] | Mapping[date, float]) -> list[tuple[str, float]]:
    if isinstance(checks, Mapping):
        return [(f"{when:%Y-%m-%d}", checks[when]) for when in sorted(checks)]
    return [("", float(value)) for value in checks]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    resolution_mm: float | None
    reference: Reference | None
    columns: Mapping[str, str] | None


def _material(readings: "AnyReadings", asked: _Asked) -> Material:
    if isinstance(readings, Run):
        from hostctl.report.sources.run_material import run_material

        return run_material(readings.database, readings.summary.run)
    if isinstance(readings, str | Path):
        from hostctl.report.sources.tables.table_file import Asked, table_material

        return table_material(
            Path(readings),
            Asked(
                columns=asked.columns or {},
                resolution_mm=asked.resolution_mm,
                reference=asked.reference,
            ),
        )
    if not hasattr(readings, "__getitem__"):
        what = f"{readings!r} is neither numbers nor columns"
        raise DataError("readings", what, "For a run: hostctl.open_database().run(2)")
    if asked.resolution_mm is None:
        what = "numbers do not say what they were read to"
        raise DataError("readings", what, "Say it, in mm: resolution_mm=0.01")
    return given_material(
        readings,
        resolution_mm=asked.resolution_mm,
        reference=asked.reference,
        columns=asked.columns,
    )


def _rig(
    readings: "AnyReadings", rig: "AnyReadings | None", asked: _Asked, machine: str
) -> Material | None:
    """The rig check that was given, or for a run the one that fits best."""
    from hostctl.report.sources.rig_material import named_rig, rig_for

    run = readings if isinstance(readings, Run) else None
    if rig is None:
        return rig_for(run.database, run.summary.run) if run else None
    material = _material(rig, asked)
    check_rig(material, machine)
    if not isinstance(rig, Run):
        return material
    judged = run.summary.run if run and run.database == rig.database else None
    return named_rig(rig.database, rig.summary.run, material, judged)
