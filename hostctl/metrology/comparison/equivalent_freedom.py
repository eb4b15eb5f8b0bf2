"""How many degrees of freedom a spread from rounded readings is worth.

Rounding costs information: below a graduation or so, the interval of a fitted standard deviation is
wider than n readings would give if they were points. The degrees of freedom whose chi-square
interval is as wide (as a ratio of its ends) carry that loss into tests made for points.
"""

import math

from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.metrology.spread.rig import Spread

_FEWEST = 0.25


def equivalent_spread(spread: RoundedSpread) -> Spread | NotYet:
    """The fitted standard deviation on the degrees of freedom that its interval is worth.

    Never more than the readings have. NotYet where there is no more than an upper bound.
    """
    if isinstance(spread.quoted, NotYet):
        return spread.quoted
    ends = spread.quoted.interval
    return Spread(
        s=spread.quoted.value, df=_freedom(ends.high / ends.low, ends.confidence, spread.df)
    )


def _freedom(ratio: float, confidence: float, most: float) -> float:
    if _width(most, confidence) >= ratio:
        return most
    low, high = _FEWEST, most
    for _ in range(30):
        middle = math.sqrt(low * high)
        too_wide = _width(middle, confidence) > ratio
        low, high = (middle, high) if too_wide else (low, middle)
    return low


def _width(df: float, confidence: float) -> float:
    tail = (1.0 - confidence) / 2.0
    return math.sqrt(chi_square_quantile(1.0 - tail, df) / chi_square_quantile(tail, df))
