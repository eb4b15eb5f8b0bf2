"""How readings follow something that varied beside them: time, or a temperature.

A straight line by least squares. Residuals of a long loop are often alike to their neighbours, so
that n of them tell less than n would: the interval counts them as n (1 - r) / (1 + r), r their
lag-1 autocorrelation where it is above 0 (G. V. Bayley, J. M. Hammersley, J. Roy. Statist. Soc.
Suppl. 8, 1946, 184-197, from memory).
"""

import math

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, deviations, finite_array
from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.basis.reason import Reason, Why

LEAST = 10


def slope_of(
    readings: npt.ArrayLike,
    beside: npt.ArrayLike,
    *,
    what: str,
    resolution: float,
    least_range: float = 0.0,
    confidence: float = 0.95,
) -> Estimate | NotYet:
    """By how much readings rise for one of what varied beside them, in the order they were taken.

    beside: a number for each reading, `what` its name.  resolution: of the readings.  least_range:
    below it, what varied beside is no more than its own noise. NotYet for fewer than 10 or where it
    didn't vary; NotEnough for no number; ValueError for lengths that differ.
    """
    y = finite_array(readings, least=1, what="a loop")
    x = finite_array(beside, least=1, what=what)
    if y.size != x.size:
        raise ValueError(f"{y.size} readings and {x.size} of {what}: one for each is needed")
    if y.size < LEAST:
        return NotYet(
            reason=Reason(Why.TOO_FEW, what="a slope", given=y.size, least=LEAST), needs_n=LEAST
        )
    if not np.ptp(x) > least_range:
        return NotYet(reason=Reason(Why.DOES_NOT_VARY, what=what))
    slope, error, df = _fitted(deviations(y), deviations(x), resolution)
    reach = student_t_quantile((1.0 + confidence) / 2.0, df) * error
    return Estimate(
        value=slope,
        interval=Interval(low=slope - reach, high=slope + reach, confidence=confidence),
        n=y.size,
        how="least squares, neighbours alike allowed for",
        source="JCGM 100:2008, H.3; Bayley and Hammersley 1946",
    )


def _fitted(y: Array, x: Array, resolution: float) -> tuple[float, float, float]:
    """The slope, its standard error, and the degrees of freedom that stand behind it."""
    across = float(x @ x)
    slope = float(x @ y) / across
    rest = y - slope * x
    squares = float(rest @ rest)
    alike = float(rest[1:] @ rest[:-1]) / squares if squares else 0.0
    worth = max(y.size * (1.0 - max(alike, 0.0)) / (1.0 + max(alike, 0.0)), 3.0)
    variance = max(squares / (y.size - 2), resolution * resolution / 12.0)
    return slope, math.sqrt(variance / across * y.size / worth), worth - 2.0
