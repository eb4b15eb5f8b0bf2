"""What a run on record says for the next plan: each spread found, and how long a trial takes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import fmean, median

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.planning.planning import fewest_to_prove
from hostctl.report.planning.result import ByRun, RigCheck, SpreadFound
from hostctl.report.sources.datum import is_zero_known
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.report.sources.rig_check import RigChoice, rig_check_for
from hostctl.report.sources.run_material import run_material, study_goal
from hostctl.report.sources.spread import blocks_by_hands, spread_of
from hostctl.store.reading import read_record
from hostctl.store.rows import StoredReading

LEAST_TRIAL_S = 1.0  # below: a simulated printer, whose time says nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class PastRun:
    """A run on record, as the next plan sees it.

    material: None where no reading counts. zero_known: whether bias counts in the next plan too.
    trial_seconds: how long a trial took; None where it is not to be known.
    """

    run: int
    material: Material | None
    goal: Goal | None
    zero_known: bool
    trial_seconds: float | None
    rig: RigChoice | None


def past_run(path: Path, run: int) -> PastRun:
    """A run of this database. Raises StoreError."""
    record = read_record(path, run)
    new = record.summary.new
    zeros_read = any(reading.kept.is_zero for reading in record.readings)
    try:
        material = run_material(path, run)
    except DataError:
        material = None
    return PastRun(
        run=run,
        material=material,
        goal=study_goal(new),
        zero_known=is_zero_known(new, zeros_read=zeros_read),
        trial_seconds=seconds_per_trial(record.readings),
        rig=rig_check_for(path, run),
    )


def plan_by_run(past: PastRun, claim: Claim, *, power: float, trial_seconds: float | None) -> ByRun:
    """What the run says. Raises DataError where it shows no spread yet."""
    found = spreads_found(past.material, claim, power) if past.material is not None else ()
    if not found:
        raise DataError(f"run {past.run}", "it has no spread yet", "Carry the run on first.")
    rig = past.rig
    return ByRun(
        run=past.run,
        within_mm=claim.tolerance,
        proportion=claim.content,
        confidence=claim.confidence,
        centre=claim.centre,
        power=power,
        spreads=found,
        trials=max((each.trials for each in found if each.trials is not None), default=None),
        rig=None if rig is None else RigCheck(run=rig.run, why=rig.why, doubts=rig.doubts),
        trial_seconds=trial_seconds,
    )


def spreads_found(material: Material, claim: Claim, power: float) -> tuple[SpreadFound, ...]:
    """One for each method and operator of which a spread is known."""
    return tuple(
        _found(blocks, spread, claim, power)
        for blocks in blocks_by_hands(material).values()
        if (spread := spread_of(blocks, material)) is not None
    )


def _found(
    blocks: Sequence[Block], spread: RoundedSpread, claim: Claim, power: float
) -> SpreadFound:
    means = [fmean(block.values_mm) for block in blocks]  # the farthest decides a claim
    bias = max(means, key=abs) if claim.centre is Centre.DATUM else 0.0
    sd = None if isinstance(spread.quoted, NotYet) else spread.quoted.value
    upper = spread.interval.high
    trials, why = (
        (None, None) if sd is None else fewest_to_prove(claim, sigma=sd, bias=bias, power=power)
    )
    at_upper, why_not = fewest_to_prove(claim, sigma=upper, bias=bias, power=power)
    return SpreadFound(
        method=blocks[0].method,
        operator=blocks[0].operator,
        n=spread.n,
        sd_mm=sd,
        upper_mm=upper,
        bias_mm=bias,
        trials=trials,
        why_no_trials=why,
        trials_at_upper=at_upper,
        why_no_trials_at_upper=why_not,
    )


def seconds_per_trial(readings: Iterable[StoredReading]) -> float | None:
    """The median time from one reading of a block to the next; None where it is not to be known."""
    gaps = list(_gaps(readings))
    typical = median(gaps) if gaps else 0.0
    return typical if typical >= LEAST_TRIAL_S else None


def _gaps(readings: Iterable[StoredReading]) -> Iterable[float]:
    for one, other in pairwise(readings):
        here, there = one.kept.place, other.kept.place
        if (here.block, here.round) == (there.block, there.round):
            yield (other.kept.reading.taken_at - one.kept.reading.taken_at).total_seconds()
