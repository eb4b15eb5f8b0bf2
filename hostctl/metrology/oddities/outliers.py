"""Readings that stand far from the rest. Nothing is removed: results are given with and without.

The test supposes normal readings. A figure that changes when one reading is left out is a reason
to look at that trial, never a licence to drop it.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, deviations, finite_array, variance
from hostctl.metrology.basis.distributions import student_t_quantile, student_t_sf
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.reason import Reason, Why


class Side(StrEnum):
    """Which readings a test suspects."""

    BOTH = "both"
    HIGH = "high"
    LOW = "low"


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """One reading's distance from the mean in standard deviations, and the limit for it.

    `index` counts from 0 in the order given. `p_value` is Bonferroni's bound (Grubbs: exact
    wherever it is significant).
    """

    index: int
    value: float
    distance: float
    limit: float
    p_value: float

    @property
    def stands_out(self) -> bool:
        """Whether the distance is beyond the limit."""
        return self.distance > self.limit


def grubbs(values: npt.ArrayLike, side: Side = Side.BOTH, alpha: float = 0.05) -> Suspect | NotYet:
    """Grubbs' test of the reading farthest from the mean, on the side asked for.

    Raises NotEnough below 3 readings or for a value that is not a number; NotYet where all are
    alike. Source: ISO 5725-2:1994, 7.3.4; Grubbs 1969, Technometrics 11, 1-21.
    """
    sample = finite_array(values, least=3, what="Grubbs' test")
    away = _away(sample, side)
    if sample.min() == sample.max():
        return NotYet(reason=Reason(Why.NONE_STANDS_OUT))
    return _suspect(sample, np.arange(sample.size), away, _sides(side), alpha)


def grubbs_limit(n: int, alpha: float = 0.05, side: Side = Side.BOTH) -> float:
    """The critical distance for n readings, in standard deviations."""
    return _limit(n, alpha, _sides(side))


def _sides(side: Side) -> int:
    return 2 if side is Side.BOTH else 1


def _away(sample: Array, side: Side) -> Array:
    away = deviations(sample)
    match side:
        case Side.BOTH:
            return np.abs(away)
        case Side.HIGH:
            return away
        case Side.LOW:
            return -away


def _suspect(
    sample: Array, indices: npt.NDArray[np.intp], away: Array, sides: int, alpha: float
) -> Suspect:
    place = int(np.argmax(away))
    distance = float(away[place]) / math.sqrt(variance(sample))
    return Suspect(
        index=int(indices[place]),
        value=float(sample[place]),
        distance=distance,
        limit=_limit(sample.size, alpha, sides),
        p_value=_p_value(distance, sample.size, sides),
    )


def _limit(n: int, alpha: float, sides: int) -> float:
    """The distance at which n times the t tail is alpha; written for t in terms of distance."""
    if n < 3:
        raise NotEnough(Reason(Why.TOO_FEW, what="Grubbs' test", given=n, least=3))
    t = student_t_quantile(1.0 - alpha / (sides * n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def _p_value(distance: float, n: int, sides: int) -> float:
    room = (n - 1) ** 2 - n * distance**2
    if room <= 0.0:
        return 0.0
    t = math.sqrt(n * (n - 2) * distance**2 / room)
    return min(1.0, sides * n * student_t_sf(t, n - 2))
