"""One method in one pair of hands: its spread, the rig taken out, and what follows from them."""

from dataclasses import dataclass, replace
from math import fsum
from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings, is_array
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.oddities.block_means import BlocksApart, blocks_apart
from hostctl.metrology.oddities.normal_law import normal_law
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.rounding import RoundedSpread, spread_from
from hostctl.metrology.spread.mean import mean_against_datum
from hostctl.metrology.spread.sample import repeatability_limit
from hostctl.metrology.spread.setting import Setting, setting_of
from hostctl.report.analysis.claim import Evidence, claim_of, verdict_of
from hostctl.report.analysis.counted import unless_doubted
from hostctl.report.analysis.result.judgement import (
    MeasuredFrom,
    MethodResult,
    RigTakenOut,
    Verdict,
)
from hostctl.report.analysis.result.reckoning import Reckoning
from hostctl.report.analysis.sums.as_read import rig_share_of
from hostctl.report.analysis.sums.reckoning import reckoning_of
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Goal, Material
from hostctl.report.sources.sample import CONFIDENCE, Sample, evidence_of
from hostctl.report.trueness.result import Precision, Trueness

if TYPE_CHECKING:
    from hostctl.metrology.trueness.mean_gap import MeanGap


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """A rig check at work: what is told of it, and what it says of the rig's spread."""

    told: RigTakenOut
    evidence: SpreadEvidence


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A sample and what it comes to. evidence: NotYet where no block has two settings.

    trueness: how far off it sets; None where no tie makes its readings gaps.
    """

    sample: Sample
    result: MethodResult
    evidence: SpreadEvidence | NotYet
    trueness: "Trueness | None"

    @property
    def least_sigma_mm(self) -> float:
        """Readings of a block scatter by at least as much, as far as is known."""
        return _least_sigma(self.evidence)


def rig_of(material: Material) -> Rig:
    """A rig check's spread, all its blocks pooled. Raises NotEnough."""
    whole = Sample(
        method=material.name,
        operator="",
        blocks=material.blocks,
        reference=material.reference,
        resolution_mm=material.resolution_mm,
    )
    evidence = evidence_of(whole)
    told = RigTakenOut(
        name=material.name, notes=material.notes, spread=spread_from(evidence, CONFIDENCE)
    )
    return Rig(told=told, evidence=evidence)


def judged(
    sample: Sample, material: Material, rig: Rig | None, *, goal: Goal | None, looks: Looks
) -> Judged:
    """Work one method and operator out, but for what takes all: what shows in the order, and how
    many lie within. goal: None for no verdict, as on a rig check."""
    evidence = _evidence(sample)
    gap = _gap(sample, material, evidence)
    result = _result(sample, material, rig, evidence, gap)
    if goal is not None:
        verdict = _verdict(sample, result, rig, evidence, goal, looks, material)
        result = replace(result, verdict=verdict)
    trueness = _trueness(sample, result, material, looks, gap)
    return Judged(sample=sample, result=result, evidence=evidence, trueness=trueness)


def _gap(
    sample: Sample, material: Material, evidence: SpreadEvidence | NotYet
) -> "MeanGap | NotYet | None":
    """The mean gap less the one meant; None where no tie makes the readings gaps."""
    if material.tied is None or not material.zero_known:
        return None
    from hostctl.report.trueness.found import gap_found

    return gap_found(sample, _least_sigma(evidence))


def _trueness(
    sample: Sample,
    result: MethodResult,
    material: Material,
    looks: Looks,
    gap: "MeanGap | NotYet | None",
) -> "Trueness | None":
    if material.tied is None or gap is None:
        return None
    from hostctl.report.trueness.found import trueness_of

    return trueness_of(sample, material.tied, gap, looks=looks, precision=_precision(result))


def _precision(result: MethodResult) -> Precision:
    """The standard deviation of a setting, the rig taken out where it can be."""
    if isinstance(result.setting, Setting) and result.setting.rig_out:
        return Precision(result.setting.value, result.setting.interval.high)
    if isinstance(result.spread, RoundedSpread):
        return Precision(_figure(result.spread), result.spread.interval.high)
    return Precision(None, None)


def _verdict(
    sample: Sample,
    result: MethodResult,
    rig: Rig | None,
    evidence: SpreadEvidence | NotYet,
    goal: Goal,
    looks: Looks,
    material: Material,
) -> Verdict | NotYet:
    if isinstance(evidence, NotYet):
        return evidence
    if looks.share <= 0.0:
        return NotYet(reason=Reason(Withheld.LOOKS_SPENT, number=looks.number))
    known = Evidence(
        sample=sample,
        total=evidence,
        rig=rig.evidence if rig else None,
        setting=result.setting,
    )
    itself = material.nobody_set
    by_law = verdict_of(known, goal, looks, result.off, itself_judged=itself)
    claim = claim_of(goal, looks, result.off)
    return unless_doubted(by_law, result.law, claim, known, itself_judged=itself)


def _evidence(sample: Sample) -> SpreadEvidence | NotYet:
    try:
        return evidence_of(sample)
    except NotEnough as why:
        return NotYet(reason=why.reason, needs_n=2)


def _result(
    sample: Sample,
    material: Material,
    rig: Rig | None,
    evidence: SpreadEvidence | NotYet,
    gap: "MeanGap | NotYet | None",
) -> MethodResult:
    """The same without the verdict."""
    spread, setting = _spreads(evidence, rig)
    off = _off(sample, material, evidence, gap)
    extents = [_extent(settings) for settings in sample.settings]
    found = spread if isinstance(spread, RoundedSpread) else None
    figure = _figure(found)
    return MethodResult(
        method=sample.method,
        operator=sample.operator,
        points=tuple(dict.fromkeys(block.point for block in sample.blocks)),
        blocks=len(sample.blocks),
        readings=sample.readings,
        settings=found.n if found else sample.readings,
        mean_mm=fsum(map(fsum, sample.values)) / sample.readings,
        off=off,
        range_mm=max(extent.high - extent.low for extent in extents),
        largest_deviation_mm=max(extent.farthest for extent in extents),
        spread=spread,
        repeatability_limit=_repeatability_limit(spread),
        setting=setting,
        below_graduation=figure is not None and figure < material.resolution_mm,
        law=normal_law(sample.values, resolution=sample.resolution_mm, reference=sample.reference),
        order_shows=(),
        blocks_apart=_blocks_apart(sample, material),
        measured_from=_measured_from(sample, off, tied=gap is not None),
        rig_share=rig_share_of(spread, setting, rig.told.spread if rig else None),
        inside=None,
        verdict=None,
        reckoning=_reckoning(sample, spread, setting, rig),
    )


def _reckoning(
    sample: Sample, spread: RoundedSpread | NotYet, setting: Setting | NotYet, rig: Rig | None
) -> Reckoning | None:
    if isinstance(spread, NotYet):
        return None
    return reckoning_of(sample, spread, setting, rig.told if rig else None)


def _spreads(
    evidence: SpreadEvidence | NotYet, rig: Rig | None
) -> tuple[RoundedSpread | NotYet, Setting | NotYet]:
    if isinstance(evidence, NotYet):
        return evidence, evidence
    return (
        spread_from(evidence, CONFIDENCE),
        setting_of(evidence, rig.evidence if rig else None, CONFIDENCE),
    )


def _off(
    sample: Sample,
    material: Material,
    evidence: SpreadEvidence | NotYet,
    gap: "MeanGap | NotYet | None",
) -> Estimate | NotYet:
    if not material.zero_known:
        return NotYet(reason=Reason(Withheld.NOT_ONE_DATUM))
    if gap is not None and material.tied is not None:
        from hostctl.report.trueness.found import off_of, withheld

        why = withheld(sample, material.tied)
        return off_of(sample, gap) if why is None else NotYet(reason=why)
    try:
        return mean_against_datum(
            sample.values,
            resolution=sample.resolution_mm,
            reference=material.reference,
            least_sigma=_least_sigma(evidence),
            confidence=CONFIDENCE,
        )
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _measured_from(sample: Sample, off: Estimate | NotYet, *, tied: bool) -> MeasuredFrom:
    if isinstance(off, Estimate):
        return "target" if tied else "datum"
    return "each block's own average" if len(sample.blocks) > 1 else "own average"


def _blocks_apart(sample: Sample, material: Material) -> BlocksApart | None:
    """Blocks of one point are compared: points may well lie at different heights."""
    if material.reference != "datum" or material.zero_known or material.own_zeros:
        return None
    by_point: dict[str, list[Readings]] = {}
    for block in sample.blocks:
        by_point.setdefault(block.point, []).append(block.values_mm)
    return blocks_apart(by_point.values(), resolution=sample.resolution_mm)


def _least_sigma(evidence: SpreadEvidence | NotYet) -> float:
    """How little readings may scatter, as far as they tell."""
    tail = (1.0 - CONFIDENCE) / 2.0
    return 0.0 if isinstance(evidence, NotYet) else evidence.lower(tail)


def _figure(spread: RoundedSpread | None) -> float | None:
    """The figure to quote, where there is one."""
    quoted = spread.quoted if spread else None
    return quoted.value if isinstance(quoted, Estimate) else None


def _repeatability_limit(spread: RoundedSpread | NotYet) -> Estimate | NotYet:
    quoted = spread.quoted if isinstance(spread, RoundedSpread) else spread
    return repeatability_limit(quoted) if isinstance(quoted, Estimate) else quoted


@dataclass(frozen=True, slots=True)
class _Extent:
    low: float
    high: float
    farthest: float  # of a setting from the mean


def _extent(settings: Readings) -> _Extent:
    if is_array(settings):
        low, high = float(settings.min()), float(settings.max())
    else:
        low, high = float(min(settings)), float(max(settings))
    mean = fsum(settings) / len(settings)
    return _Extent(low, high, max(high - mean, mean - low))
