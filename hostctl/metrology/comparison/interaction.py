"""Does the ratio of two methods' spreads depend on whose hands: operator x method interaction.

Makes it possible to state or deny "the paper is as good as the light in practised hands, not in
new ones": the ratio of the two ratios, for two operators, from the confidence boxes of the four
spreads.
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from hostctl.metrology.basis.confidence_box import (
    ConfidenceBox,
    chance_difference_above,
    differences,
    quantile_of,
)
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.rounded.evidence import SpreadEvidence

_REACH = 32.0  # of a limit, on the logarithm


class InHands(NamedTuple):
    """A method and the one it is held against, in the hands of one operator."""

    operator: str
    method: SpreadEvidence
    baseline: SpreadEvidence


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioOfRatios:
    """How many times larger the ratio is in the first operator's hands than in the second's.

    value: None where one of the four spreads is no more than a bound.  interval: allowing for
    `compared` of them.  p_value: that the ratio is the same, allowing for those; differs: the
    interval leaves out 1.  within_margin: they differ by less than the margin, allowing likewise.
    """

    first: str
    second: str
    value: float | None
    interval: Interval
    p_value: float
    compared: int
    differs: bool
    within_margin: bool


def ratio_of_ratios(
    first: InHands, second: InHands, *, margin: float, compared: int = 1, alpha: float = 0.05
) -> RatioOfRatios:
    """Of what was read; the risk `alpha` is shared over `compared` of these."""
    one, other = log_ratio_box(first), log_ratio_box(second)

    def above(log_ratio: float) -> float:
        return chance_difference_above(one.upper, other.lower, log_ratio)

    def lower_above(log_ratio: float) -> float:
        return chance_difference_above(one.lower, other.upper, log_ratio)

    each = alpha / compared
    p_value = min(2.0 * compared * min(above(0.0), 1.0 - lower_above(0.0)), 1.0)
    beyond = max(above(math.log(margin)), 1.0 - lower_above(-math.log(margin)))
    low = quantile_of(lower_above, 1.0 - each / 2.0, -_REACH, _REACH)
    high = quantile_of(above, each / 2.0, -_REACH, _REACH)
    differs = p_value < alpha
    if not differs:
        low, high = min(low, 0.0), max(high, 0.0)
    return RatioOfRatios(
        first=first.operator,
        second=second.operator,
        value=_value(first, second),
        interval=Interval(low=_exp(low), high=_exp(high), confidence=1.0 - each),
        p_value=p_value,
        compared=compared,
        differs=differs,
        within_margin=min(compared * beyond, 1.0) <= alpha,
    )


def log_ratio_box(hands: InHands) -> ConfidenceBox:
    """Of the logarithm of the method's spread over the baseline's."""
    method, baseline = hands.method.box.logarithms, hands.baseline.box.logarithms
    return ConfidenceBox(
        upper=differences(method.upper, baseline.lower),
        lower=differences(method.lower, baseline.upper),
    )


def _value(first: InHands, second: InHands) -> float | None:
    four = (first.method, first.baseline, second.method, second.baseline)
    if min(one.span for one in four) < 2:
        return None
    ratios = [hands.method.likeliest / hands.baseline.likeliest for hands in (first, second)]
    return ratios[0] / ratios[1]


def _exp(x: float) -> float:
    if x <= -_REACH:
        return 0.0
    return math.inf if x >= _REACH else math.exp(x)
