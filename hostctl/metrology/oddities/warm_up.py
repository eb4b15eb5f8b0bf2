"""Are the first few trials unlike the rest: in level, or in spread.

Rule: for each k from 1 to 10 (never more than half), the first k readings are compared with the
mean of all; the largest standardised difference is the statistic, and its p value the share of
random orders of the same readings in which it is as large. So the false alarm rate is the one
stated whatever law the readings follow and however rounded they are, provided that without warm-up
any order is as likely as any other. The same is done for the distance from the median (spread);
each of the two gets half of alpha. One wild first reading alone can be significant only from
2 / alpha readings on (40 at 5 %): leave it to the outlier tests.

Drawing ends early where the p value can't be small any more (random_orders).
"""

from dataclasses import dataclass
from itertools import accumulate
from math import fsum, sqrt
from statistics import median
from typing import Literal, Protocol

from hostctl.metrology.basis.estimate import NotYet, Readings, finite_sample
from hostctl.metrology.basis.random_orders import share_as_extreme
from hostctl.metrology.basis.reason import Reason, Why

_LONGEST = 10
_LEAST = 9  # below, no order is rare enough to be significant at 5 %


class Chance(Protocol):
    """Where random orders come from, seeded by the caller: `random()` is within 0 to 1."""

    def random(self) -> float:
        """The next number, 1 excluded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """What the first trials did. `trials` is their number, 0 where nothing was seen.

    `differs_in`: level or spread, whichever has the smaller p value. `p_value`: allowing for both.
    """

    trials: int
    differs_in: Literal["level", "spread"]
    p_value: float
    n: int


def warm_up(
    values: Readings, rng: Chance, alpha: float = 0.05, shuffles: int = 1999
) -> WarmUp | NotYet:
    """Look for a warm-up in readings given in the order taken.

    shuffles: the most random orders drawn. Raises NotEnough below 9 readings; NotYet where all are
    alike. Source: Good 2005, Permutation, Parametric and Bootstrap Tests, 3; the statistic is that
    of a change point, Page 1955, Biometrika 42, 523-527.
    """
    sample = finite_sample(values, least=_LEAST, what="warm-up")
    if min(sample) == max(sample):
        return NotYet(reason=Reason(Why.WARM_UP_HIDDEN))
    middle = median(sample)
    level = _first_k(_deviations(sample), shuffles, rng)
    spread = _first_k(_deviations([abs(value - middle) for value in sample]), shuffles, rng)
    p_value = min(1.0, 2.0 * min(level[1], spread[1]))
    trials = level[0] if level[1] <= spread[1] else spread[0]
    return WarmUp(
        trials=trials if p_value <= alpha else 0,
        differs_in="level" if level[1] <= spread[1] else "spread",
        p_value=p_value,
        n=len(sample),
    )


def _deviations(sample: list[float]) -> list[float]:
    mean = fsum(sample) / len(sample)
    return [value - mean for value in sample]


def _first_k(away: list[float], shuffles: int, rng: Chance) -> tuple[int, float]:
    """The k whose first readings differ most, and how rare that is among random orders."""
    n = len(away)
    longest = min(_LONGEST, n // 2)
    scales = [1.0 / sqrt(k * (n - k)) for k in range(1, longest + 1)]
    seen = _differences(away[:longest], scales)

    def draw() -> float:
        return max(_differences(_random_start(away, longest, rng), scales))

    p_value, _ = share_as_extreme(draw, max(seen), shuffles)
    return seen.index(max(seen)) + 1, p_value


def _random_start(away: list[float], longest: int, rng: Chance) -> list[float]:
    """The first few of a random order; only they are drawn, however many there are."""
    moved: dict[int, float] = {}
    start = []
    for place in range(longest):
        other = place + int(rng.random() * (len(away) - place))
        start.append(moved.get(other, away[other]))
        moved[other] = moved.get(place, away[place])
    return start


def _differences(start: list[float], scales: list[float]) -> list[float]:
    """The sum of the first k, k = 1, 2, ..., over its standard deviation in a random order."""
    return [abs(total) * scale for total, scale in zip(accumulate(start), scales, strict=True)]
