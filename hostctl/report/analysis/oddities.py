"""What does not look like chance: outliers, drift, likeness of neighbours, warm-up.

Nothing is removed: figures are given with and without. With several methods and hands the risk of
a false alarm, 5 % in all for each kind, is shared out between them.
"""

from collections.abc import Sequence
from random import Random

from hostctl.metrology.basis.estimate import NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.oddities.block_order import (
    BlockDrift,
    Neighbours,
    block_drift,
    block_neighbours,
)
from hostctl.metrology.oddities.block_outliers import Outlier, block_outliers
from hostctl.metrology.oddities.warm_up import WarmUp, warm_up
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread
from hostctl.report.analysis.judgement import Judged
from hostctl.report.analysis.result.oddities import FarOff, Oddities
from hostctl.report.document.reasons import Withheld
from hostctl.report.sources.sample import Sample

ALPHA = 0.05
SEED = 20_251_125
_MOST = 5  # settings named as far from the rest
_FEWEST = 9  # settings in a block in which a warm-up can show


def oddities(judged: Sequence[Judged]) -> tuple[Oddities, ...]:
    """Look at each method and operator whose spread is known."""
    alpha = ALPHA / max(1, len(judged))
    return tuple(
        _look(one.sample, one.result.spread, alpha)
        for one in judged
        if isinstance(one.result.spread, RoundedSpread)
    )


def _look(sample: Sample, spread: RoundedSpread, alpha: float) -> Oddities:
    blocks, ordered = sample.settings, sample.reference != "previous"
    outliers = _outliers(spread, blocks, sample.resolution_mm, alpha)
    drift = (
        _drift(blocks, sample.resolution_mm)
        if ordered
        else NotYet(reason=Reason(Withheld.DIFFERENCES_SHOW_NO_DRIFT))
    )
    neighbours = (
        block_neighbours(blocks, 1.0 - alpha)
        if ordered
        else NotYet(reason=Reason(Withheld.DIFFERENCES_SHARE_A_SETTING))
    )
    warm_ups = _warm_ups(blocks, alpha) if ordered else ()
    drifts = isinstance(drift, BlockDrift) and drift.test.p_value <= alpha
    alike = isinstance(neighbours, Neighbours) and neighbours.unusual
    warmed = any(found.trials for found in warm_ups)
    return Oddities(
        method=sample.method,
        operator=sample.operator,
        alpha=alpha,
        outliers=tuple(_far_off(outlier, sample) for outlier in outliers),
        outliers_tellable=not isinstance(spread.quoted, NotYet),
        spread=spread,
        spread_without_outliers=_without(sample, outliers),
        drift=drift,
        drifts=drifts,
        neighbours=neighbours,
        neighbours_alike=alike,
        neighbours_alternate=_alternate(neighbours),
        warm_ups=warm_ups,
        quiet=not (outliers or drifts or alike or warmed),
    )


def _alternate(neighbours: "Neighbours | NotYet") -> bool:
    if isinstance(neighbours, NotYet):
        return False
    return neighbours.unusual and neighbours.value <= neighbours.expected


def _outliers(
    spread: RoundedSpread, blocks: Sequence[Readings], resolution_mm: float, alpha: float
) -> tuple[Outlier, ...]:
    """None where the spread is no more than a bound: then a graduation off is no distance."""
    if isinstance(spread.quoted, NotYet):
        return ()
    most = min(_MOST, max(1, sum(map(len, blocks)) // 5))
    return block_outliers(blocks, most=most, resolution=resolution_mm, alpha=alpha)


def _far_off(outlier: Outlier, sample: Sample) -> FarOff:
    """With its value and its number as people count, a block's zero having none."""
    zeros = 1 if sample.reference == "first" else 0
    return FarOff(
        block=outlier.block,
        place=outlier.place,
        away=outlier.away,
        distance=outlier.distance,
        limit=outlier.limit,
        p_value=outlier.p_value,
        source=outlier.source,
        value_mm=float(sample.settings[outlier.block][outlier.place]),
        point=sample.blocks[outlier.block].point,
        reading=outlier.place + 1 - zeros or None,
    )


def _without(sample: Sample, outliers: Sequence[Outlier]) -> RoundedSpread | NotYet | None:
    """The spread without them; None where there is none.

    Zeros are settings by now, so the rest is fitted as values of its own.
    """
    if not outliers:
        return None
    gone = {(outlier.block, outlier.place) for outlier in outliers}
    rest = [
        [value for place, value in enumerate(block) if (number, place) not in gone]
        for number, block in enumerate(sample.settings)
    ]
    as_values: Reference = "previous" if sample.reference == "previous" else "datum"
    try:
        return rounded_spread(rest, resolution=sample.resolution_mm, reference=as_values)
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _drift(blocks: Sequence[Readings], resolution_mm: float) -> BlockDrift | NotYet:
    try:
        return block_drift(blocks, resolution=resolution_mm)
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _warm_ups(blocks: Sequence[Readings], alpha: float) -> tuple[WarmUp, ...]:
    long_enough = [block for block in blocks if len(block) >= _FEWEST]
    rng = Random(SEED)
    each = alpha / max(1, len(long_enough))
    found = [warm_up(block, rng, each) for block in long_enough]
    return tuple(one for one in found if isinstance(one, WarmUp))
