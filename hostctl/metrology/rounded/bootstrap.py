"""The bootstrap of a standard deviation on counts: its cost does not grow with the readings."""

from typing import TYPE_CHECKING

from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.law.bin_counts import BinCounts

if TYPE_CHECKING:
    import numpy as np


def bootstrap_spread(
    bins: BinCounts, *, resamples: int, rng: "np.random.Generator", confidence: float = 0.95
) -> Estimate:
    """The sample standard deviation with its percentile bootstrap interval, rounding ignored.

    Drawing n readings again with replacement is one multinomial draw over the graduations.
    rng: where chance comes from, given so that a result can be repeated.
    Raises NotEnough for fewer than two readings.
    Source: B. Efron and R. J. Tibshirani, An Introduction to the Bootstrap, 1993, 13.3.
    """
    import numpy as np

    n = bins.n
    if n < 2:
        raise NotEnough(Reason(Why.TOO_FEW, what="bootstrap", given=n, least=2))
    places = np.asarray(bins.graduations, dtype=float) - bins.mean_graduation
    drawn = rng.multinomial(n, np.asarray(bins.counts) / n, size=resamples)
    moments = drawn @ np.column_stack((places, places * places))
    variances = (moments[:, 1] - moments[:, 0] ** 2 / n) / (n - 1)
    spreads = bins.resolution * np.sqrt(np.maximum(variances, 0.0))
    low, high = np.quantile(spreads, ((1.0 - confidence) / 2.0, (1.0 + confidence) / 2.0))
    return Estimate(
        value=bins.resolution * float(bins.sum_of_squares / (n - 1)) ** 0.5,
        interval=Interval(low=float(low), high=float(high), confidence=confidence),
        n=n,
        how=f"percentile bootstrap, {resamples} resamples",
        source="Efron and Tibshirani 1993, 13.3",
    )
