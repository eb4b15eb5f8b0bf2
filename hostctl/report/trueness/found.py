"""How far off each method sets the gap: what its readings and the tie behind them come to."""

from collections.abc import Sequence
from dataclasses import replace
from math import fsum

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.rounded.mean import MeanEvidence, largest_shift, mean_of_readings
from hostctl.metrology.spread.mean import mean_of_blocks
from hostctl.metrology.trueness.constant import CONFIDENCE, TieConstant
from hostctl.metrology.trueness.given import shared_error
from hostctl.metrology.trueness.mean_gap import MeanGap, mean_gap
from hostctl.metrology.trueness.standing import Standing
from hostctl.metrology.trueness.standing import standing as standing_of
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.material import Block
from hostctl.report.sources.sample import Sample
from hostctl.report.sources.tied import Tied
from hostctl.report.trueness.result import (
    RISK,
    Precision,
    Trueness,
)

_NOTHING = 1e-9

_HOW = "mean of the readings and error of the tie, each drawn from its own confidence box"
_SOURCE = "ISO 5725-1:1994; JCGM 100:2008, 5"


def tie_of(blocks: Sequence[Block]) -> TieConstant:
    """What the mean of these readings has of the ties behind them."""
    readings = sum(len(block.values_mm) for block in blocks)
    return shared_error(
        [
            (block.footing.constant, len(block.values_mm) / readings)
            for block in blocks
            if block.footing is not None
        ]
    )


def _shares(blocks: Sequence[Block]) -> list[tuple[TieConstant, float]]:
    """What a mean over these blocks, each counting once, has of the ties behind them."""
    wholes = _wholes(blocks)
    shares = []
    for parts in wholes:
        readings = sum(len(part.values_mm) for part in parts)
        for part in parts:
            if part.footing is not None:
                share = len(part.values_mm) / readings / len(wholes)
                shares.append((part.footing.constant, share))
    return shares


def gap_of(blocks: Sequence[Block], *, resolution_mm: float, least_sigma_mm: float) -> MeanGap:
    """How far off the mean of these readings is, over the points where they were made.

    No block has a zero of its own, so the readings are the sample, in however many blocks: points
    that differ scatter them the more.  Raises NotEnough for one reading.
    """
    if len(blocks) == 1:
        known = mean_of_readings(blocks[0].values_mm, resolution=resolution_mm)
    else:
        known = _mean_on_one_grid(blocks, resolution_mm, least_sigma_mm)
    return mean_gap(tie_of(blocks), known, target=0.0)


def mean_of(
    blocks: Sequence[Block], *, resolution_mm: float, least_sigma_mm: float
) -> MeanEvidence:
    """Of what was set at one point, to be compared: of one block the readings are the sample, of
    several their means.  Raises NotEnough for one reading."""
    if len(blocks) > 1 and len(_wholes(blocks)) == 1:
        return _mean_on_one_grid(blocks, resolution_mm, least_sigma_mm)
    return mean_of_blocks(readings_of(blocks), resolution=resolution_mm, least_sigma=least_sigma_mm)


def readings_of(blocks: Sequence[Block]) -> list[Readings]:
    """Those of each block, the parts of one together."""
    return [_readings(parts) for parts in _wholes(blocks)]


def ties_apart(
    first: Sequence[Block], second: Sequence[Block]
) -> tuple[ConfidenceBox, ConfidenceBox] | None:
    """The errors of the ties behind two means; None where both rest on the same ties in the same
    shares, or on none, so that nothing of them is in the difference."""
    mine, theirs = _shares(first), _shares(second)
    net = {id(one): 0.0 for one, _ in (*mine, *theirs)}
    for sign, shares in ((1.0, mine), (-1.0, theirs)):
        for constant, share in shares:
            net[id(constant)] += sign * share
    if all(abs(share) < _NOTHING for share in net.values()):
        return None
    return shared_error(mine).error, shared_error(theirs).error


def _mean_on_one_grid(
    parts: Sequence[Block], resolution_mm: float, least_sigma_mm: float
) -> MeanEvidence:
    """Of readings that rest on several constants: those of each have graduations of their own, and
    are shifted to the first's; the mean is shifted back, and what rounding may have moved is
    allowed for.  Raises NotEnough for one reading."""
    start_mm, moved_mm, on_first = float(parts[0].values_mm[0]), 0.0, []
    for part in parts:
        away_mm = float(part.values_mm[0]) - start_mm
        by_mm = resolution_mm * round(away_mm / resolution_mm) - away_mm
        on_first += [float(value) + by_mm for value in part.values_mm]
        moved_mm += by_mm * len(part.values_mm)
    known = mean_of_readings(on_first, resolution=resolution_mm)
    centre = known.bins.centre - moved_mm / len(on_first)
    return replace(
        known,
        bins=replace(known.bins, centre=centre),
        shift=largest_shift(least_sigma_mm, resolution_mm),
    )


def _wholes(blocks: Sequence[Block]) -> list[list[Block]]:
    """The parts of each block; nearly always one."""
    found: dict[object, list[Block]] = {}
    for place, block in enumerate(blocks):
        found.setdefault(block.part_of or place, []).append(block)
    return list(found.values())


def _readings(parts: Sequence[Block]) -> Readings:
    if len(parts) == 1:
        return parts[0].values_mm
    return [float(value) for part in parts for value in part.values_mm]


def withheld(sample: Sample, tied: Tied) -> Reason | None:
    """Why this tie tells nothing of how far off a method is; None where it does."""
    if tied.is_independent(sample.method) is False:
        return Reason(Withheld.SAME_PRINCIPLE)
    return Reason(Withheld.TIE_STALE) if tied.is_stale else None


def gap_found(sample: Sample, least_sigma_mm: float) -> MeanGap | NotYet:
    """The same of all its blocks; NotYet from one reading."""
    blocks, resolution_mm = sample.blocks, sample.resolution_mm
    try:
        return gap_of(blocks, resolution_mm=resolution_mm, least_sigma_mm=least_sigma_mm)
    except NotEnough as why:
        return NotYet(reason=why.reason, needs_n=2)


def off_of(sample: Sample, found: MeanGap | NotYet) -> Estimate | NotYet:
    """How far off it is on average, at 95 %: rounding, rig and tie are in the interval."""
    if isinstance(found, NotYet):
        return found
    return Estimate(
        value=fsum(map(fsum, sample.values)) / sample.readings,
        interval=found.off_interval,
        n=sample.readings,
        how=_HOW,
        source=_SOURCE,
    )


def trueness_of(
    sample: Sample,
    tied: Tied,
    found: MeanGap | NotYet,
    *,
    looks: Looks,
    precision: Precision,
) -> Trueness:
    """How far off it sets, and whether that is on target, by this look's share of the risk."""
    meant_mm, why_not = tied.meant_mm(sample.method), withheld(sample, tied)
    mean = off_of(sample, found)
    off = mean if why_not is None or isinstance(mean, NotYet) else NotYet(reason=why_not)
    judged = None if isinstance(found, NotYet) else _judged_by(found, looks)
    standing, why = _standing(tied, off, judged)
    return Trueness(
        method=sample.method,
        operator=sample.operator,
        points=len({block.point for block in sample.blocks}),
        meant_mm=meant_mm,
        margin_mm=tied.margin_mm,
        mean_gap=_moved(mean, 1.0, meant_mm),
        off=off,
        standing=standing,
        why=why,
        judged_by=judged,
        correction=_moved(off, -1.0, 0.0),
        tie_share=None if isinstance(found, NotYet) else found.tie_share,
        of_tie=None if isinstance(found, NotYet) else found.of_tie.interval(CONFIDENCE),
        precision_mm=precision.sd_mm,
        precision_below_mm=precision.below_mm,
        doubted=doubted_in(sample),
    )


def _judged_by(found: MeanGap, looks: Looks) -> Interval | None:
    """Where the mean may be off target at the confidence that this look has; None: it has none."""
    if looks.share <= 0.0:
        return None
    if looks.share >= 1.0:
        return found.off_interval
    return found.limits(0.5 * RISK * looks.share)


def doubted_in(sample: Sample) -> int:
    """Its readings since the last good check, where a later one found that the tie had moved."""
    doubted = (one for one in sample.blocks if one.footing is not None and one.footing.doubted)
    return sum(len(one.values_mm) for one in doubted)


def _standing(
    tied: Tied, off: Estimate | NotYet, judged: Interval | None
) -> tuple[Standing, Reason | None]:
    """What may be said, and why no more."""
    if isinstance(off, NotYet):
        return "cannot tell", off.reason
    if judged is None:
        return "cannot tell", Reason(Withheld.NO_RISK_LEFT)
    standing = standing_of(judged, tied.margin_mm)
    if standing != "cannot tell":
        return standing, None
    if tied.margin_mm is None:
        return standing, Reason(Withheld.NO_MARGIN)
    return standing, Reason(Withheld.BEYOND_MARGIN, margin=tied.margin_mm)


def _moved(found: Estimate | NotYet, sign: float, by_mm: float) -> Estimate | NotYet:
    """Each figure times the sign, and so much more."""
    if isinstance(found, NotYet):
        return found
    ends = sorted(sign * end + by_mm for end in (found.low, found.high))
    interval = replace(found.interval, low=ends[0], high=ends[1])
    return replace(found, value=sign * found.value + by_mm, interval=interval)
