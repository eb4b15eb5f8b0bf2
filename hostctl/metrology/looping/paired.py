"""The difference of two readings taken together: two gauges at one point, or two sides in turn.

Pairs are compared by their differences (Student's paired comparison), so that what both followed
alike, the point's own scatter and a slow drift, drops out. Each of the two was rounded: where its
readings aren't sure to scatter enough, rounding may have moved its mean, and the limits allow for
both (`rounded/mean`).
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, finite_array, sum_of_squares
from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.mean import largest_shift, least_sd, mean_of_means

_FINE = 100  # steps of a difference in the finer resolution: as good as points


@dataclass(frozen=True, slots=True, kw_only=True)
class PairedDifference:
    """First less second, in the unit of the readings.

    mean: of the differences, with its interval.  spread: their standard deviation, with its.
    differs: whether the mean's interval leaves out 0.
    """

    mean: Estimate
    spread: Estimate
    differs: bool


def paired_difference(
    first: npt.ArrayLike,
    second: npt.ArrayLike,
    *,
    resolution: float,
    second_resolution: float | None = None,
    confidence: float = 0.95,
) -> PairedDifference | NotYet:
    """Compare pairs: reading i of the first with reading i of the second.

    second_resolution: where it is another. NotYet below 2 pairs; NotEnough for no number;
    ValueError for numbers that differ. Source: Student 1908, Biometrika 6, 1-25; JCGM 100:2008.
    """
    one, other = (finite_array(a, least=0, what="pairs") for a in (first, second))
    if one.size != other.size:
        raise ValueError(f"{one.size} and {other.size} readings: pairs are needed")
    if one.size < 2:
        return NotYet(reason=Reason(Why.TOO_FEW, what="pairs", given=one.size, least=2), needs_n=2)
    steps = (resolution, second_resolution or resolution)
    differences = one - other
    shift = sum(
        largest_shift(least_sd(side.tolist()), step)
        for side, step in zip((one, other), steps, strict=True)
    )
    known = mean_of_means(differences.tolist(), step=min(steps) / _FINE, shift=shift)
    interval = known.interval(confidence)
    return PairedDifference(
        mean=Estimate(
            value=float(np.mean(differences)),
            interval=interval,
            n=one.size,
            how="mean of paired differences, rounding of both allowed for",
            source="Student 1908, Biometrika 6, 1-25",
        ),
        spread=_spread(differences, steps, confidence),
        differs=0.0 not in interval,
    )


def _spread(differences: Array, steps: tuple[float, float], confidence: float) -> Estimate:
    """Chi-square limits; rounding may hide half a graduation of each, and adds h^2 / 12 of each."""
    n, squares = differences.size, sum_of_squares(differences)
    missed = (1.0 - confidence) / 2.0
    low, high = (
        math.sqrt(squares / chi_square_quantile(p, n - 1.0)) for p in (1.0 - missed, missed)
    )
    sd = math.sqrt(squares / (n - 1))
    of_rounding = math.hypot(*steps) / math.sqrt(12.0)
    if sd < max(steps):  # rounding errors may go along with what they round
        low, high = max(low - sum(steps) / 2.0, 0.0), high + sum(steps) / 2.0
    else:
        low = math.sqrt(max(low * low - of_rounding * of_rounding, 0.0))
    return Estimate(
        value=sd,
        interval=Interval(low=low, high=high, confidence=confidence),
        n=n,
        how="standard deviation of paired differences, widened by what rounding may hide",
        source="NIST/SEMATECH e-Handbook 1.3.5.8",
    )
