"""Do settings scatter as the normal law has it: lopsided, with heavy tails, or in two heaps?

All is done with the readings' distances e from their block's mean, and S = sum e^2. The sums of
e^3 / S^(3/2) and of e^4 / S^2 are brought to mean 0 and standard deviation 1: under a normal law
both are exact for blocks of any size, as these ratios are independent of S. Heaps: distances are
parted into two groups, of two or more, such that least scatter W is left within the groups; each
reading counts as spread over its graduation, so W / S is (W + n/12) / (S + n/12), in graduations.

Limits are simulated (`normal_law_simulation`): each is the widest over sigma from 0.3 graduations
up, over where the mean falls within a graduation, and over ways to cut settings into blocks; so the
level holds for rounded readings. These figures are chosen since rounding hardly moves them: it adds
less than 0.1 to a kurtosis of 3 from half a graduation up, while it ruins tests by ranks, steps or
spacings. Below that, what is seen is the graduation and not the law: then nothing is said.

The level is 1 % for a method, a third for each departure: a doubt costs a good method its "meets",
so it must be rare beside the 5 % of the verdict. What is noticed at that level is in `NOTICED`.

Source: ISO 5479:1997, 6 (skewness, kurtosis); Fisher 1930, Proc. Roy. Soc. A 130, 16-28 (their
variances); Engelman and Hartigan 1969, J. Amer. Statist. Assoc. 64, 1647-1648 (two groups); all
three from memory.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from hostctl.metrology.basis.estimate import NotYet, Readings, finite_sample
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.oddities.normal_law_limits import LIMITS

Departure = Literal["lopsided", "heavy tails", "two heaps"]

Kind = Literal["one block", "several blocks", "differences"]

LEVEL = 0.01  # chance of a doubt where settings are normal
LEAST_FREEDOM = 7  # one block of 8 settings
LEAST_SPREAD = math.sqrt(1 / 4 + 1 / 12)  # of readings, in graduations: of settings 1/2
_MANY, _LEAST_OF_MANY = 500, 1.0  # rounding's small bias counts where readings are many


@dataclass(frozen=True, slots=True, kw_only=True)
class NormalLaw:
    """Whether readings of one spread look normal.

    skewness, kurtosis: 0 ± 1 where they do; to compare with ± `most_skewness`, `most_kurtosis`.
    within_heaps: the share of their scatter left within the two groups that leave least; to compare
    with `least_within_heaps`.
    departures: how they depart from the normal law more than chance has it.
    n: readings, zeros that count among them; blocks: of two or more of them.
    """

    skewness: float
    most_skewness: float
    kurtosis: float
    most_kurtosis: float
    within_heaps: float
    least_within_heaps: float
    departures: tuple[Departure, ...]
    n: int
    blocks: int
    level: float = LEVEL
    source: str = "ISO 5479:1997, 6; Engelman and Hartigan 1969; limits simulated when rounded"

    @property
    def doubted(self) -> bool:
        """Whether the normal law is refused."""
        return bool(self.departures)


def normal_law(
    blocks: Sequence[Readings], *, resolution: float, reference: Reference = "datum"
) -> NormalLaw | NotYet:
    """Look at readings by block, each with a mean of its own, rounded to `resolution`.

    reference: with `first` the zero counts as a setting; with `previous` the differences are looked
    at, whose skewness is none whatever that of settings. NotYet where readings are too few or
    scatter over too few graduations to tell. Raises NotEnough for no number.
    """
    away = [_distances(settings_of(block, reference), resolution) for block in blocks]
    away = [block for block in away if len(block) >= 2]
    sizes = [len(block) for block in away]
    n, df = sum(sizes), sum(sizes) - len(sizes)
    if df < LEAST_FREEDOM:
        least = LEAST_FREEDOM + max(1, len(sizes))
        return NotYet(reason=Reason(Why.LAW_TOO_FEW, least=least), needs_n=least)
    pooled = sorted(distance for block in away for distance in block)
    squares = math.fsum(e * e for e in pooled)
    if math.sqrt(squares / df) < least_spread(df):
        return NotYet(reason=Reason(Why.LAW_HIDDEN))
    skewness, kurtosis = _standardised(pooled, squares, sizes)
    within = _within_heaps(pooled, squares)
    most_skewness, most_kurtosis, least_within = limits(df, kind_of(len(sizes), reference))
    signs: dict[Departure, bool] = {
        "lopsided": abs(skewness) > most_skewness,
        "heavy tails": kurtosis > most_kurtosis,
        "two heaps": within < least_within,
    }
    return NormalLaw(
        skewness=skewness,
        most_skewness=most_skewness,
        kurtosis=kurtosis,
        most_kurtosis=most_kurtosis,
        within_heaps=within,
        least_within_heaps=least_within,
        departures=tuple(departure for departure, seen in signs.items() if seen),
        n=n,
        blocks=len(sizes),
    )


def least_spread(df: int) -> float:
    """The standard deviation of readings, in graduations, from which on the law can be seen."""
    return LEAST_SPREAD if df <= _MANY else _LEAST_OF_MANY


def kind_of(blocks: int, reference: Reference = "datum") -> Kind:
    """Which of the tables of limits applies."""
    if reference == "previous":
        return "differences"
    return "one block" if blocks == 1 else "several blocks"


def limits(df: int, kind: Kind) -> tuple[float, float, float]:
    """Most skewness and kurtosis, least scatter within heaps, at LEVEL; linear in log df."""
    table = LIMITS[kind]
    places = sorted(table)
    at = min(max(df, places[0]), places[-1])
    above = next(place for place in places if place >= at)
    below = max(place for place in places if place <= at)
    share = math.log(at / below) / math.log(above / below) if above > below else 0.0
    skewness, kurtosis, within = (
        low + share * (high - low) for low, high in zip(table[below], table[above], strict=True)
    )
    return skewness, kurtosis, within


def skewness_variance(sizes: Sequence[int]) -> float:
    """Variance of sum e^3 / S^(3/2), normal settings in blocks of such sizes."""
    df = sum(sizes) - len(sizes)
    of_cubes = math.fsum(6.0 * (n - 1) * (n - 2) / n for n in sizes)
    return of_cubes / (df * (df + 2) * (df + 4))


def kurtosis_law(sizes: Sequence[int]) -> tuple[float, float]:
    """Mean and variance of sum e^4 / S^2, normal settings in blocks of such sizes."""
    df = sum(sizes) - len(sizes)
    mean = math.fsum(3.0 * (n - 1) ** 2 / n for n in sizes)
    variance = math.fsum(map(_fourths_variance, sizes))
    share = mean / (df * (df + 2))
    return share, (variance + mean**2) / (df * (df + 2) * (df + 4) * (df + 6)) - share**2


def _standardised(
    pooled: Sequence[float], squares: float, sizes: Sequence[int]
) -> tuple[float, float]:
    """Skewness and kurtosis."""
    cubes, fourths = math.fsum(e * e * e for e in pooled), math.fsum(e**4 for e in pooled)
    sd = math.sqrt(skewness_variance(sizes)) or 1.0  # blocks of two have no skewness
    mean, variance = kurtosis_law(sizes)
    return cubes / squares**1.5 / sd, (fourths / squares**2 - mean) / math.sqrt(variance)


def _fourths_variance(n: int) -> float:
    """Of sum e^4 over sigma^8 in one block, from Fisher's mean and variance of b2."""
    of_b2 = 24.0 * n * (n - 2) * (n - 3) / ((n + 1) ** 2 * (n + 3) * (n + 5))
    square = (of_b2 + (3.0 * (n - 1) / (n + 1)) ** 2) / n**2
    return square * (n - 1) * (n + 1) * (n + 3) * (n + 5) - (3.0 * (n - 1) ** 2 / n) ** 2


def _within_heaps(ordered: Sequence[float], squares: float) -> float:
    """Distances add up to 0, so a group of k with the sum P takes P^2 n / (k (n - k)) out of S."""
    n = len(ordered)
    sums = itertools.accumulate(ordered)
    between = max(
        total * total * n / (k * (n - k)) for k, total in enumerate(sums, 1) if 2 <= k <= n - 2
    )
    of_rounding = n / 12.0
    return (squares - between + of_rounding) / (squares + of_rounding)


def _distances(readings: Readings, resolution: float) -> list[float]:
    """From the block's mean, in graduations; empty for no reading."""
    sample = finite_sample(readings, least=0, what="a block")
    mean = math.fsum(sample) / max(len(sample), 1)
    return [(value - mean) / resolution for value in sample]
