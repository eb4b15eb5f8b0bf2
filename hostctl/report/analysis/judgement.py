"""One method in one pair of hands: its spread, the rig taken out, and what follows from them."""

from collections.abc import Callable
from dataclasses import dataclass
from math import fsum

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings, is_array
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.oddities.normal_law import normal_law
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.sample import describe, repeatability_limit
from hostctl.metrology.spread.setting import Setting, setting_of
from hostctl.report.analysis.claim import claim_of, verdict_of
from hostctl.report.analysis.counted import RigLimit, unless_doubted
from hostctl.report.analysis.reckoning import reckoning_of
from hostctl.report.analysis.result.judgement import MethodResult, RigTakenOut
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Goal, Material
from hostctl.report.sources.sample import CONFIDENCE, Sample, SpreadAt, spread_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """A rig check at work: what is told of it, and its spread at any confidence."""

    told: RigTakenOut
    at: SpreadAt


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A sample and what it comes to."""

    sample: Sample
    result: MethodResult


def rig_of(material: Material) -> Rig:
    """A rig check's spread, all its blocks pooled. Raises NotEnough."""
    whole = Sample(
        method=material.name,
        operator="",
        blocks=material.blocks,
        reference=material.reference,
        resolution_mm=material.resolution_mm,
    )
    at = spread_at(whole)
    told = RigTakenOut(name=material.name, notes=material.notes, spread=at(CONFIDENCE))
    return Rig(told=told, at=at)


def result_of(
    sample: Sample, material: Material, rig: Rig | None, *, goal: Goal | None, looks: int
) -> MethodResult:
    """Work one method and operator out. goal: None for no verdict, as on a rig check."""
    at = spread_at(sample)
    spread, setting = _spreads(at, rig)
    off = _off(sample, material)
    extents = [_extent(settings) for settings in sample.settings]
    law = normal_law(sample.values, resolution=sample.resolution_mm, reference=sample.reference)
    verdict = None
    if goal:
        both, nobody_set = _both_at(at, rig), material.nobody_set
        by_law = verdict_of(sample, goal, looks, spread, off, both, itself_judged=nobody_set)
        limit = _rig_limit(rig if isinstance(setting, Setting) else None, nobody_set=nobody_set)
        verdict = unless_doubted(by_law, law, claim_of(goal, looks, off), sample, limit)
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
        rounding_may_shift_mean=found is None or found.interval.low < material.resolution_mm / 2,
        law=law,
        verdict=verdict,
        reckoning=reckoning_of(sample, found, setting, rig.told if rig else None)
        if found
        else None,
    )


def _spreads(at: SpreadAt, rig: Rig | None) -> tuple[RoundedSpread | NotYet, Setting | NotYet]:
    try:
        spread = at(CONFIDENCE)
    except NotEnough as why:
        return NotYet(reason=why.reason, needs_n=2), NotYet(reason=why.reason, needs_n=2)
    return spread, setting_of(spread, rig.told.spread if rig else None)


def _both_at(
    at: SpreadAt, rig: Rig | None
) -> Callable[[float], tuple[RoundedSpread, Setting | NotYet]]:
    """Both together and the setting alone, at the confidence asked for."""

    def both(confidence: float) -> tuple[RoundedSpread, Setting | NotYet]:
        total = at(confidence)
        return total, setting_of(total, rig.at(confidence) if rig else None)

    return both


def _rig_limit(rig: Rig | None, *, nobody_set: bool) -> RigLimit:
    """Of the rig to be allowed for: none where nothing was set, unknown without a fit check."""

    def limit(risk: float) -> float | None:
        if nobody_set:
            return 0.0
        return rig.at(1.0 - risk).interval.high if rig else None

    return limit


def _off(sample: Sample, material: Material) -> Estimate | NotYet:
    if not material.zero_known:
        return NotYet(reason=Reason(Withheld.NOT_ONE_DATUM))
    try:
        return describe(sample.values, reference=material.reference).mean
    except NotEnough as why:
        return NotYet(reason=why.reason)


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
