"""Settings that do not scatter normally: how often that is noticed, how often "meets" is wrong."""

import math
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import norm, t

from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.oddities.normal_law import (
    LEAST_FREEDOM,
    NormalLaw,
    least_spread,
    limits,
    normal_law,
)
from hostctl.metrology.oddities.normal_law_simulation import drawn_by_law, figures
from promised.cells import COMPARED, SEED, STUDIES
from promised.spreads import RISK
from promised.studies import Shape

SIZES = (6, 12, 20, 50)
SIGMA = 3.0
CONTENT = 0.95

Inside: TypeAlias = Callable[[float], float]
"""The share of settings within so many deviations of their mean."""


@dataclass(frozen=True, slots=True)
class LawRow:
    """In parts of one. meets: wrong by the normal law alone.  with_rule: where only a count may say
    it once there is doubt.  apart: of COMPARED studies, which the product's own check sees
    otherwise."""

    law: str
    n: int
    noticed: float
    meets: float
    with_rule: float
    apart: int


def half_width(law: str, n: int) -> float:
    """What holds CONTENT of the law's settings about its own mean, in its deviations."""
    return float(brentq(lambda h: _inside(law, n)(h) - CONTENT, 0.1, 30.0))


def _inside(law: str, n: int) -> Inside:
    def normal(h: float, centre: float) -> float:
        return float(norm.cdf(h - centre) - norm.cdf(-h - centre))

    match law:
        case "normal":
            return lambda h: normal(h, 0.0)
        case "t5":
            return lambda h: float(1.0 - 2.0 * t.sf(h * math.sqrt(5.0 / 3.0), 5))
        case "exponential":
            return lambda h: math.exp(-max(1.0 - h, 0.0)) - math.exp(-1.0 - h)
        case "two heaps":
            return lambda h: normal(h, 3.0)
        case "one outlier":  # one in n, as in the study
            return lambda h: (1.0 - 1.0 / n) * normal(h, -6.0 / n) + normal(h, 6.0 - 6.0 / n) / n
        case _:
            raise ValueError(law)


def law_rows(studies: int = STUDIES) -> list[LawRow]:
    """For each size, each law of `drawn_by_law`, with the place of its mean anywhere."""
    return [row for n in SIZES for row in rows_of(n, studies)]


def rows_of(n: int, studies: int) -> list[LawRow]:
    """Each law at one size."""
    rng = np.random.default_rng([SEED, 4, zlib.crc32(str(n).encode())])
    place = rng.uniform(-0.5, 0.5, (studies, 1))
    rows = []
    for law, settings in drawn_by_law(rng, studies, n).items():
        read = np.rint(SIGMA * settings + place).astype(np.int64)
        doubted = _doubted(read)
        narrow = Shape(n).many(read[:, None, :]).tails(_sigma_just_not_so(law, n))[0]
        met = narrow <= RISK
        rows.append(
            LawRow(
                law=law,
                n=n,
                noticed=float(doubted.mean()),
                meets=float(met.mean()),
                with_rule=float((met & ~doubted).mean()),
                apart=int(
                    sum(
                        _doubted_by_product(read[i]) != doubted[i]
                        for i in np.linspace(0, studies - 1, COMPARED).astype(int)
                    )
                ),
            )
        )
    return rows


def _sigma_just_not_so(law: str, n: int) -> float:
    """The normal sigma that a claim would need which is just not so of this law."""
    return SIGMA * half_width(law, n) / normal_quantile((1.0 + CONTENT) / 2.0)


def _doubted(read: NDArray[np.int64]) -> NDArray[np.bool_]:
    df = read.shape[1] - 1
    if df < LEAST_FREEDOM:
        return np.zeros(len(read), dtype=bool)
    spread, skewness, kurtosis, within = figures([read.astype(np.float64)])
    most_skewness, most_kurtosis, least_within = limits(df, "one block")
    odd = (np.abs(skewness) > most_skewness) | (kurtosis > most_kurtosis) | (within < least_within)
    return np.asarray(odd & (spread >= least_spread(df)))


def _doubted_by_product(readings: NDArray[np.int64]) -> bool:
    found = normal_law([readings.astype(float).tolist()], resolution=1.0)
    return isinstance(found, NormalLaw) and found.doubted
