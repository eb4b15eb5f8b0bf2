"""Do neighbours resemble one another: lag-1 autocorrelation and runs about the median."""

import math
from dataclasses import dataclass
from math import comb

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import deviations, finite_array
from hostctl.metrology.basis.distributions import normal_quantile, normal_sf
from hostctl.metrology.basis.double_double import exact_dot
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.significance import Significance

_EXACT_TO = 200  # readings up to which the law of the number of runs is counted out


@dataclass(frozen=True, slots=True, kw_only=True)
class Autocorrelation:
    """How far each reading resembles the one before: -1 to 1.

    Independent readings stay within +/- `band` around `expected` at the stated confidence.
    Successive differences (reference `previous`) are expected at -1/2, not at 0.
    """

    value: float
    expected: float
    band: float
    n: int

    @property
    def unusual(self) -> bool:
        """Whether independent readings would seldom show as much."""
        return abs(self.value - self.expected) > self.band


def lag_1_autocorrelation(
    values: npt.ArrayLike, confidence: float = 0.95
) -> Autocorrelation | NotYet:
    """The correlation of each reading with the next, about the common mean.

    Raises NotEnough below 4 readings; NotYet where all are alike. The band is large-sample, fair
    from about 10 readings. Source: e-Handbook 1.3.5.12; expectation -1/n: Kendall 1954,
    Biometrika 41, 403-404.
    """
    sample = finite_array(values, least=4, what="autocorrelation")
    away = deviations(sample)
    total = exact_dot(away, away)
    if sample.min() == sample.max():
        return NotYet(reason="all readings are alike: no correlation can be seen")
    return Autocorrelation(
        value=exact_dot(away[1:], away[:-1]) / total,
        expected=-1.0 / sample.size,
        band=normal_quantile((1.0 + confidence) / 2.0) / math.sqrt(sample.size),
        n=sample.size,
    )


def runs_about_median(values: npt.ArrayLike) -> Significance | NotYet:
    """Is the number of runs above and below the median that of a random order.

    The statistic is the normal deviate: below zero for too few runs (slow drift), above for too
    many (alternation). Readings equal to the median are passed over. Two-sided p: exact up to 200
    readings, else normal. Raises NotEnough below 4; NotYet where fewer than two lie on a side.
    Source: Wald and Wolfowitz 1940, Ann. Math. Stat. 11, 147-162; e-Handbook 1.3.5.13.
    """
    sample = finite_array(values, least=4, what="runs test")
    median = np.median(sample)
    above = (sample > median)[sample != median]
    high, low = int(np.sum(above)), int(np.sum(~above))
    if min(high, low) < 2:
        return NotYet(reason="too many readings equal the median for a runs test")
    runs = 1 + int(np.sum(above[1:] != above[:-1]))
    expected = 1.0 + 2.0 * high * low / (high + low)
    sd = math.sqrt((expected - 1.0) * (expected - 2.0) / (high + low - 1.0))
    z = (runs - expected) / sd
    exact = high + low <= _EXACT_TO
    return Significance(
        statistic=z,
        p_value=_exact_p(runs, high, low) if exact else min(1.0, 2.0 * normal_sf(abs(z))),
        df=(),
        n=high + low,
        how=f"runs about the median ({runs}), {'exact' if exact else 'normal'}",
        source="Wald and Wolfowitz 1940; e-Handbook 1.3.5.13",
    )


def _exact_p(runs: int, high: int, low: int) -> float:
    law = {count: _ways(count, high, low) for count in range(2, high + low + 1)}
    total = comb(high + low, high)
    few = sum(ways for count, ways in law.items() if count <= runs) / total
    many = sum(ways for count, ways in law.items() if count >= runs) / total
    return min(1.0, 2.0 * min(few, many))


def _ways(runs: int, high: int, low: int) -> int:
    """Orders of `high` and `low` signs with exactly so many runs."""
    half, odd = divmod(runs, 2)
    if not odd:
        return 2 * comb(high - 1, half - 1) * comb(low - 1, half - 1)
    return comb(high - 1, half) * comb(low - 1, half - 1) + comb(high - 1, half - 1) * comb(
        low - 1, half
    )
