"""What does not look like chance: outliers, drift, likeness of neighbours, warm-up.

Nothing is removed: figures are given with and without. With several methods and hands the risk of
a false alarm, 5 % in all for each kind, is shared out between them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from hostctl.metrology.basis.estimate import Estimate, NotEnough, NotYet, Readings
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.oddities.block_order import (
    BlockDrift,
    Neighbours,
    block_drift,
    block_neighbours,
)
from hostctl.metrology.oddities.block_outliers import Outlier, block_outliers
from hostctl.metrology.oddities.warm_up import WarmUp, warm_up
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread
from hostctl.report.analysis.judgement import Result
from hostctl.report.document.reasons import Withheld

ALPHA = 0.05
SEED = 20_251_125
_MOST = 5  # settings named as far from the rest
_FEWEST = 9  # settings in a block in which a warm-up can show


@dataclass(frozen=True, slots=True, kw_only=True)
class Oddities:
    """What was found in one method's and operator's settings. alpha: the risk it was given.

    without: the spread with the outliers left out; None where there are none.
    """

    result: Result
    alpha: float
    outliers: tuple[Outlier, ...]
    without: RoundedSpread | NotYet | None
    drift: BlockDrift | NotYet
    neighbours: Neighbours | NotYet
    warm_ups: tuple[WarmUp, ...]

    @property
    def drifts(self) -> bool:
        """Whether the drift is more than chance."""
        return isinstance(self.drift, BlockDrift) and self.drift.test.p_value <= self.alpha

    @property
    def neighbours_alike(self) -> bool:
        """Whether neighbours resemble each other, or alternate, more than chance."""
        return isinstance(self.neighbours, Neighbours) and self.neighbours.unusual

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing to tell."""
        warmed = any(found.trials for found in self.warm_ups)
        return not (self.outliers or self.drifts or self.neighbours_alike or warmed)


def oddities(
    results: Sequence[Result], reference: Reference, resolution_mm: float
) -> tuple[Oddities, ...]:
    """Look at each method and operator whose spread is known."""
    alpha = ALPHA / max(1, len(results))
    return tuple(
        _look(result, reference, resolution_mm, alpha)
        for result in results
        if isinstance(result.spread, RoundedSpread)
    )


def _look(result: Result, reference: Reference, resolution_mm: float, alpha: float) -> Oddities:
    blocks = [settings_of(values, reference) for values in result.values]
    outliers = _outliers(result, blocks, resolution_mm, alpha)
    ordered = reference != "previous"
    return Oddities(
        result=result,
        alpha=alpha,
        outliers=outliers,
        without=_without(blocks, outliers, reference, resolution_mm) if outliers else None,
        drift=_drift(blocks)
        if ordered
        else NotYet(reason=Reason(Withheld.DIFFERENCES_SHOW_NO_DRIFT)),
        neighbours=block_neighbours(blocks, 1.0 - alpha)
        if ordered
        else NotYet(reason=Reason(Withheld.DIFFERENCES_SHARE_A_SETTING)),
        warm_ups=_warm_ups(blocks, alpha) if ordered else (),
    )


def _outliers(
    result: Result, blocks: Sequence[Readings], resolution_mm: float, alpha: float
) -> tuple[Outlier, ...]:
    """None where the spread is no more than a bound: then a graduation off is no distance."""
    if not isinstance(result.spread, RoundedSpread) or isinstance(result.spread.quoted, NotYet):
        return ()
    most = min(_MOST, max(1, sum(map(len, blocks)) // 5))
    return block_outliers(blocks, most=most, resolution=resolution_mm, alpha=alpha)


def _without(
    blocks: Sequence[Readings],
    outliers: Sequence[Outlier],
    reference: Reference,
    resolution_mm: float,
) -> RoundedSpread | NotYet:
    """Zeros are settings by now, so the rest is fitted as values of its own."""
    gone = {(outlier.block, outlier.place) for outlier in outliers}
    rest = [
        [value for place, value in enumerate(block) if (number, place) not in gone]
        for number, block in enumerate(blocks)
    ]
    as_values: Reference = "previous" if reference == "previous" else "datum"
    try:
        return rounded_spread(rest, resolution=resolution_mm, reference=as_values)
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _drift(blocks: Sequence[Readings]) -> BlockDrift | NotYet:
    try:
        return block_drift(blocks)
    except NotEnough as why:
        return NotYet(reason=why.reason)


def _warm_ups(blocks: Sequence[Readings], alpha: float) -> tuple[WarmUp, ...]:
    long_enough = [block for block in blocks if len(block) >= _FEWEST]
    rng = Random(SEED)
    each = alpha / max(1, len(long_enough))
    found = [warm_up(block, rng, each) for block in long_enough]
    return tuple(one for one in found if isinstance(one, WarmUp))


def quoted(spread: RoundedSpread | NotYet | None) -> float | None:
    """The figure to quote, where there is one."""
    if isinstance(spread, RoundedSpread) and isinstance(spread.quoted, Estimate):
        return spread.quoted.value
    return None
