"""The rig checks of a machine as points in time: what each found, and when."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from statistics import fmean

from hostctl.errors import DataError
from hostctl.report.history.result import Check
from hostctl.report.sources.rig_check import ENOUGH, is_rig_check
from hostctl.report.sources.run_material import run_material
from hostctl.report.sources.spread import spread_of
from hostctl.store.rows import RunSummary


def machines_checked(runs: Iterable[RunSummary]) -> list[str]:
    """The machines that have a rig check on record with readings, by name."""
    return sorted({run.new.machine for run in runs if _counts(run)})


def checks_on(runs: Iterable[RunSummary], machine: str) -> list[RunSummary]:
    """The rig checks of a machine, oldest first."""
    mine = [run for run in runs if _counts(run) and run.new.machine == machine]
    return sorted(mine, key=lambda run: (run.new.started_at, run.run))


def _counts(run: RunSummary) -> bool:
    return is_rig_check(run) and run.readings > run.void


def checks_of(path: Path, runs: Sequence[RunSummary]) -> tuple[list[Check], list[str]]:
    """Each run of the database as a check; and the names of those left out: broken off before
    ENOUGH readings, or without a spread. Raises StoreError.

    After two or three readings a check would set limits that hardly mean anything.
    """
    found = [(f"run {run.run}", _check(path, run)) for run in runs]
    return [check for _, check in found if check], [name for name, check in found if not check]


def _check(path: Path, run: RunSummary) -> Check | None:
    try:
        material = run_material(path, run.run)
    except DataError:
        return None
    spread = spread_of(material.blocks, material)
    if spread is None or (not run.complete and material.readings < ENOUGH):
        return None
    values = [value for block in material.blocks for value in block.values_mm]
    return Check(
        name=material.name,
        at=run.new.started_at,
        n=spread.n,
        sd_mm=spread.ordinary.value,
        df=spread.df,
        resolution_mm=material.resolution_mm,
        mean_mm=fmean(values) if material.reference == "datum" else None,
    )
