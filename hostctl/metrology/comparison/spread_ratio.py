"""The ratio of two spreads: how sure it is that they differ, and that they don't by much.

Both come from the confidence boxes of rounded readings, so the interval, the test and the
equivalence are one and the same computation: two spreads differ exactly where the interval leaves
out 1, and are as good as each other where a narrower one lies within the margin. Far above a
resolution that is the F interval of ISO 2854:1976, exact. The risk is shared equally over as many
pairs as are compared (Bonferroni; single step, so that each p has an interval that goes with it).

Where a rig check is at hand the ratio is that of the settings, the rig taken out of both. Whether
they differ does not depend on the rig; by how much does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.confidence_box import Quantiles, quantile_of, thinned
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.rounded.evidence import SpreadEvidence

_REACH = 16.0  # of a limit, on log ratio
_EVERY, _EVERY_OF_RIG = 2, 3  # of the quantiles that a mean is taken over

_Drawn = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRatio:
    """First over second.

    value: None where one of them is no more than a bound.  interval: where the ratio may lie,
    allowing for `compared` pairs; an open end is 0 or inf.
    p_value: that the two are equal; p_beyond: that they differ by `margin` or more; both allow
    for the pairs compared.  differs: the interval leaves out 1.  as_good: within the margin.
    rig_out: whether it is of settings, the rig taken out.
    """

    value: float | None
    interval: Interval
    p_value: float
    p_beyond: float
    margin: float
    compared: int
    differs: bool
    as_good: bool
    rig_out: bool
    n: int


def spread_ratio(
    first: SpreadEvidence,
    second: SpreadEvidence,
    *,
    rig: SpreadEvidence | None = None,
    margin: float = 1.5,
    compared: int = 1,
    alpha: float = 0.05,
) -> SpreadRatio:
    """Compare two spreads, at a risk of `alpha` shared over `compared` pairs.

    margin: the largest ratio still as good as equal. Raises ValueError for one not above 1.
    Sources: ISO 2854:1976, table G'; D. J. Schuirmann, J. Pharmacokin. Biopharm. 15, 1987, for the
    margin.
    """
    if not margin > 1.0:
        raise ValueError(f"equivalence of spreads: the margin is {margin}, must be above 1")
    high_side = _Side(first.box.upper, second.box.lower, rig, upper=True)
    low_side = _Side(first.box.lower, second.box.upper, rig, upper=False)
    tail = min(high_side.chance_above(0.0), 1.0 - low_side.chance_above(0.0))
    beyond = max(
        high_side.chance_above(math.log(margin)),
        1.0 - low_side.chance_above(-math.log(margin)),
    )
    p_value = min(2.0 * compared * tail, 1.0)
    p_beyond = min(compared * beyond, 1.0)
    return SpreadRatio(
        value=_value(first, second, rig),
        interval=_interval(low_side, high_side, alpha / compared, differs=p_value < alpha),
        p_value=p_value,
        p_beyond=p_beyond,
        margin=margin,
        compared=compared,
        differs=p_value < alpha,
        as_good=p_beyond <= alpha,
        rig_out=rig is not None,
        n=first.freedom.settings + second.freedom.settings,
    )


def _interval(low_side: "_Side", high_side: "_Side", alpha: float, *, differs: bool) -> Interval:
    """Its ends lie on the side of 1 that the p value says, to the last digit."""
    low = low_side.limit(1.0 - alpha / 2.0)
    high = high_side.limit(alpha / 2.0)
    if not differs:
        low, high = min(low, 1.0), max(high, 1.0)
    elif low < 1.0:  # what is not told from the rig may be as near to equal as one likes
        high = min(high, math.nextafter(1.0, 0.0))
    if differs and high > 1.0:
        low = max(low, math.nextafter(1.0, 2.0))
    return Interval(low=low, high=high, confidence=1.0 - alpha)


def _value(
    first: SpreadEvidence, second: SpreadEvidence, rig: SpreadEvidence | None
) -> float | None:
    if min(first.span, second.span) < 2:
        return None
    out = rig.figure**2 if rig is not None else 0.0
    above, below = first.likeliest**2 - out, second.likeliest**2 - out
    return math.sqrt(above / below) if min(above, below) > 0.0 else None


class _Side:
    """One end of the interval. upper: whether its upper one."""

    def __init__(
        self, first: Quantiles, second: Quantiles, rig: SpreadEvidence | None, *, upper: bool
    ) -> None:
        self._first = first
        self._second = thinned(second, _EVERY)
        self._upper = upper
        self._rig_at_most: _Drawn = ((0.0, 1.0),)
        self._rig_at_least: _Drawn = ((0.0, 1.0),)
        if rig is not None:
            self._rig_at_most = thinned(rig.box.upper, _EVERY_OF_RIG)
            self._rig_at_least = thinned(rig.box.lower, _EVERY_OF_RIG)

    def limit(self, chance: float) -> float:
        """Where the chance of a larger ratio comes down to this; 0 or inf where nowhere."""
        found = quantile_of(self.chance_above, chance, -_REACH, _REACH)
        if found <= -_REACH:
            return 0.0
        return math.inf if found >= _REACH else math.exp(found)

    def chance_above(self, log_ratio: float) -> float:
        """The chance of a larger ratio, each drawn from the distribution that errs this way.

        Of a ratio above 1, a larger rig makes more; of one below, less.
        """
        ratio = math.exp(log_ratio)
        if ratio == 1.0:
            return math.fsum(w * (1.0 - self._first.log_below(s)) for s, w in self._second)
        larger = (ratio > 1.0) == self._upper
        return math.fsum(
            share * weight * (1.0 - self._first.log_below(self._least(ratio, second, rig)))
            for rig, share in (self._rig_at_most if larger else self._rig_at_least)
            for second, weight in self._second
        )

    def _least(self, ratio: float, second: float, rig: float) -> float:
        """The first total at which the settings' ratio is as large as this.

        Where the second's is not above the rig its setting may be nothing, and the ratio anything
        on the side of 1 that the totals are on.
        """
        if math.isinf(second) or math.isinf(rig):
            return second
        if second > rig:
            return math.sqrt(rig * rig + ratio * ratio * (second - rig) * (second + rig))
        if ratio > 1.0:
            return second if self._upper else rig
        return 0.0 if self._upper else second
