"""The ordinary standard deviation from a sum of squares, as if readings were not rounded."""

import math

from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval
from hostctl.metrology.basis.reference import SpreadFreedom


def spread_estimate(squares: float, freedom: SpreadFreedom, confidence: float) -> Estimate:
    """The standard deviation and its chi-square interval.

    squares: the sum of squared deviations, scaled so that over sigma^2 it is chi-square.
    """
    missed = (1.0 - confidence) / 2.0
    return Estimate(
        value=math.sqrt(squares / freedom.df),
        interval=Interval(
            low=math.sqrt(squares / chi_square_quantile(1.0 - missed, freedom.df)),
            high=math.sqrt(squares / chi_square_quantile(missed, freedom.df)),
            confidence=confidence,
        ),
        n=freedom.settings,
        how="ordinary standard deviation, chi-square interval, rounding ignored",
        source="NIST/SEMATECH e-Handbook 1.3.5.8",
    )
