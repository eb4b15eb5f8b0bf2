"""The rig checks of a machine as points in time: what each found, and when."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean

from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.first_figures import figures_of
from hostctl.report.sources.rig_check import ENOUGH, is_rig_check
from hostctl.report.sources.samples import reference_of, samples_of
from hostctl.store.rows import RunRecord, RunSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One rig check. Lengths in mm.

    sd_mm: as read, its rounding included, so that checks compare; df: its degrees of freedom.
    mean_mm: distance from a datum, None where the check has none.
    """

    name: str  # "run 4"
    at: datetime
    n: int
    sd_mm: float
    df: float
    resolution_mm: float
    mean_mm: float | None


def machines_checked(runs: Iterable[RunSummary]) -> list[str]:
    """The machines that have a rig check on record with readings, by name."""
    return sorted({run.new.machine for run in runs if _counts(run)})


def checks_on(runs: Iterable[RunSummary], machine: str) -> list[int]:
    """The rig checks of a machine, oldest first."""
    mine = [run for run in runs if _counts(run) and run.new.machine == machine]
    return [run.run for run in sorted(mine, key=lambda run: (run.new.started_at, run.run))]


def _counts(run: RunSummary) -> bool:
    return is_rig_check(run) and run.readings > run.void


def checks_of(records: Sequence[RunRecord]) -> tuple[list[Check], list[str]]:
    """Each record as a check; and the names of those left out: broken off before ENOUGH readings.

    After two or three it would set limits that hardly mean anything.
    """
    found = [(f"run {record.summary.run}", _check(record)) for record in records]
    return [check for _, check in found if check], [name for name, check in found if not check]


def _check(record: RunRecord) -> Check | None:
    reference = reference_of(record)
    samples = samples_of(record)
    figures = figures_of(samples[0], reference) if samples else None
    if figures is None or not isinstance(figures.spread, RoundedSpread):
        return None
    if not record.summary.complete and len(figures.sample.readings_mm) < ENOUGH:
        return None
    spread = figures.spread
    return Check(
        name=f"run {record.summary.run}",
        at=record.summary.new.started_at,
        n=spread.n,
        sd_mm=spread.ordinary.value,
        df=spread.df,
        resolution_mm=figures.sample.resolution_mm,
        mean_mm=fmean(figures.sample.readings_mm) if reference == "datum" else None,
    )
