"""What a run on record says for the next plan: each spread found, and how long a trial takes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import fmean, median

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.assumed import AssumedStudy
from hostctl.metrology.claims.claim import Centre, Claim
from hostctl.metrology.claims.planning import trials_to_prove
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.rounding import spread_from
from hostctl.metrology.spread.setting import setting_of
from hostctl.report.planning.planning import number_or_why
from hostctl.report.planning.result import ByRun, RigCheck, SpreadFound
from hostctl.report.planning.wishes import CONFIDENCE
from hostctl.report.sources.datum import is_zero_known
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.report.sources.rig_check import RigChoice, rig_check_for
from hostctl.report.sources.run_material import run_material, study_goal
from hostctl.report.sources.spread import blocks_by_hands, evidence_of_blocks
from hostctl.store.reading import read_record
from hostctl.store.rows import StoredReading


@dataclass(frozen=True, slots=True, kw_only=True)
class PastRun:
    """A run on record, as the next plan sees it.

    material: None where no reading counts. zero_known: whether bias counts in the next plan too.
    trial_seconds: how long a trial took; None where it is not to be known, and where the printer
    was `simulated`, whose time says nothing of a real one.
    rig, rig_evidence: the rig check that an analysis would take out, and what it says.
    """

    run: int
    material: Material | None
    goal: Goal | None
    zero_known: bool
    trial_seconds: float | None
    rig: RigChoice | None
    simulated: bool = False
    rig_evidence: SpreadEvidence | None = None


def past_run(path: Path, run: int) -> PastRun:
    """A run of this database. Raises StoreError."""
    record = read_record(path, run)
    new = record.summary.new
    zeros_read = any(reading.kept.is_zero for reading in record.readings)
    try:
        material = run_material(path, run)
    except DataError:
        material = None
    rig = rig_check_for(path, run)
    return PastRun(
        run=run,
        material=material,
        goal=study_goal(new),
        zero_known=is_zero_known(new, zeros_read=zeros_read),
        trial_seconds=None if new.simulated else seconds_per_trial(record.readings),
        rig=rig,
        simulated=new.simulated,
        rig_evidence=None if rig is None else _rig_evidence(path, rig.run),
    )


def _rig_evidence(path: Path, check: int) -> SpreadEvidence | None:
    """What a rig check says of the rig's spread; None where it says nothing."""
    try:
        found = run_material(path, check)
    except DataError:
        return None
    return evidence_of_blocks(found.blocks, found)


def plan_by_run(past: PastRun, claim: Claim, *, power: float, trial_seconds: float | None) -> ByRun:
    """What the run says. Raises DataError where it shows no spread yet."""
    material = past.material
    found = spreads_found(material, past.rig_evidence, claim, power) if material else ()
    if not found or material is None:
        raise DataError(f"run {past.run}", "it has no spread yet", "Carry the run on first.")
    rig = past.rig
    return ByRun(
        run=past.run,
        resolution_mm=material.resolution_mm,
        within_mm=claim.tolerance,
        proportion=claim.content,
        confidence=claim.confidence,
        centre=claim.centre,
        power=power,
        spreads=found,
        trials=max((each.trials for each in found if each.trials is not None), default=None),
        rig=None if rig is None else RigCheck(run=rig.run, why=rig.why, doubts=rig.doubts),
        simulated=past.simulated,
        trial_seconds=trial_seconds,
    )


def spreads_found(
    material: Material, rig: SpreadEvidence | None, claim: Claim, power: float
) -> tuple[SpreadFound, ...]:
    """One for each method and operator of which a spread is known. rig: to be taken out."""
    return tuple(
        _found(blocks, evidence, rig, claim, power)
        for blocks in blocks_by_hands(material).values()
        if (evidence := evidence_of_blocks(blocks, material)) is not None
    )


def _found(
    blocks: Sequence[Block],
    total: SpreadEvidence,
    rig: SpreadEvidence | None,
    claim: Claim,
    power: float,
) -> SpreadFound:
    means = [fmean(block.values_mm) for block in blocks]  # the farthest decides a claim
    bias = max(means, key=abs) if claim.centre is Centre.DATUM else 0.0
    # about a datum a plan goes by all that is read
    setting = setting_of(total, None if claim.centre is Centre.DATUM else rig)
    if isinstance(setting, NotYet) or not setting.rig_out:
        spread = spread_from(total, CONFIDENCE)
        sd = None if isinstance(spread.quoted, NotYet) else spread.quoted.value
        upper, rig = spread.interval.high, None
    else:
        sd, upper = setting.value or None, setting.interval.high
    study = AssumedStudy(
        resolution=total.blocks[0].resolution,
        blocks=len(total.blocks),
        reference=total.reference,
        rig=rig,
    )

    def needed(sigma: float) -> tuple[int | None, Reason | None]:
        return number_or_why(
            trials_to_prove(claim, sigma=sigma, bias=bias, power=power, study=study)
        )

    trials, why = (None, None) if sd is None else needed(sd)
    at_upper, why_not = needed(upper)
    return SpreadFound(
        method=blocks[0].method,
        operator=blocks[0].operator,
        n=total.freedom.settings,
        blocks=len(total.blocks),
        rig_out=rig is not None,
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
    return median(gaps) if gaps else None


def _gaps(readings: Iterable[StoredReading]) -> Iterable[float]:
    for one, other in pairwise(readings):
        here, there = one.kept.place, other.kept.place
        if (here.block, here.round) == (there.block, there.round):
            yield (other.kept.reading.taken_at - one.kept.reading.taken_at).total_seconds()
