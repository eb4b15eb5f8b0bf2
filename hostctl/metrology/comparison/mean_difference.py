"""The difference of two means: how sure it is that there is one, or none to speak of.

Each mean is drawn from its own confidence box, so the interval, the test and the equivalence are
one and the same computation: means differ exactly where the interval leaves out 0. Where readings
are points it is the interval of Behrens and Fisher (R. A. Fisher, Annals of Eugenics 6, 1935,
391-398), and of one mean that of Student. The risk is shared equally over as many pairs as are
compared (Bonferroni; single step).
"""

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import partial

from hostctl.metrology.basis.confidence_box import (
    MESH,
    ConfidenceBox,
    Quantiles,
    chance_difference_above,
    differences,
    quantile_of,
)
from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.estimate import Interval

_NEAR = 3  # quantiles, to either side of where a limit is sought
_ZERO = Quantiles((0.0,) * len(MESH))
EXACTLY_ZERO = ConfidenceBox(upper=_ZERO, lower=_ZERO)
"""What a mean of differences is held against."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanDifference:
    """First less second.

    interval: where it may lie, allowing for `compared` pairs.  p_value: that it is 0; p_beyond:
    that it is `margin` or more either way, None without a margin; both allow for the pairs
    compared.  differs: the interval leaves out 0.  within: shown to be less than the margin.
    """

    interval: Interval
    p_value: float
    p_beyond: float | None
    differs: bool
    within: bool


def mean_difference(
    first: ConfidenceBox,
    second: ConfidenceBox = EXACTLY_ZERO,
    *,
    margin: float | None = None,
    compared: int = 1,
    alpha: float = 0.05,
) -> MeanDifference:
    """Compare two means, at a risk of `alpha` shared over `compared` pairs.

    margin: in the unit of the means. Raises ValueError for one not above 0.
    Source: D. J. Schuirmann, J. Pharmacokin. Biopharm. 15, 1987, for the margin.
    """
    if margin is not None and not margin > 0.0:
        raise ValueError(f"equivalence of means: the margin is {margin}, must be above 0")

    def above(limit: float) -> float:
        return chance_difference_above(first.upper, second.lower, limit)

    def below(limit: float) -> float:
        return 1.0 - chance_difference_above(first.lower, second.upper, limit)

    p_value = min(2.0 * compared * min(above(0.0), below(0.0)), 1.0)
    p_beyond = None if margin is None else min(compared * max(above(margin), below(-margin)), 1.0)
    return MeanDifference(
        interval=_interval(first, second, alpha / compared, differs=p_value < alpha),
        p_value=p_value,
        p_beyond=p_beyond,
        differs=p_value < alpha,
        within=p_beyond is not None and p_beyond <= alpha,
    )


def _interval(
    first: ConfidenceBox, second: ConfidenceBox, alpha: float, *, differs: bool
) -> Interval:
    """Its ends lie on the side of 0 that the p value says, to the last digit."""
    low = _limit(first.lower, second.upper, 1.0 - alpha / 2.0)
    high = _limit(first.upper, second.lower, alpha / 2.0)
    if not differs:
        low, high = min(low, 0.0), max(high, 0.0)
    elif low + high > 0.0:
        low = max(low, math.nextafter(0.0, 1.0))
    else:
        high = min(high, math.nextafter(0.0, -1.0))
    return Interval(low=low, high=high, confidence=1.0 - alpha)


def _limit(first: Quantiles, second: Quantiles, chance: float) -> float:
    """Near where the quantiles of all drawn differences have it."""
    about = differences(first, second).values
    after = bisect_left(MESH, normal_quantile(1.0 - chance))
    low, high = about[max(after - _NEAR, 0)], about[min(after + _NEAR, len(MESH) - 1)]
    return quantile_of(partial(chance_difference_above, first, second), chance, low, high)
