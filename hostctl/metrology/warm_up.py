"""Are the first few trials unlike the rest: in level, or in spread.

Rule: for each k from 1 to 10 (never more than half), the first k readings are compared with the
mean of all; the largest standardised difference is the statistic, and its p value the share of
random orders of the same readings in which it is as large. So the false alarm rate is the one
stated whatever law the readings follow and however rounded they are, provided that without warm-up
any order is as likely as any other. The same is done for the distance from the median (spread);
each of the two gets half of alpha. One wild first reading alone can be significant only from
2 / alpha readings on (40 at 5 %): leave it to the outlier tests.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from hostctl.metrology.centred import Array, deviations, finite_array
from hostctl.metrology.estimate import NotYet

_LONGEST = 10
_LEAST = 9  # below, no order is rare enough to be significant at 5 %


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """What the first trials did. `trials` is their number, 0 where nothing was seen.

    `differs_in`: level or spread, whichever has the smaller p value. `p_value`: allowing for both.
    """

    trials: int
    differs_in: Literal["level", "spread"]
    p_value: float
    n: int

    @property
    def says(self) -> str:
        """One sentence for a reader."""
        if not self.trials:
            return f"no warm-up seen in {self.n} trials"
        first = "first trial" if self.trials == 1 else f"first {self.trials} trials"
        return f"warm-up: the {first} of {self.n} differ from the rest in {self.differs_in}"


def warm_up(
    values: npt.ArrayLike,
    rng: np.random.Generator,
    alpha: float = 0.05,
    shuffles: int = 1999,
) -> WarmUp | NotYet:
    """Look for a warm-up in readings given in the order taken.

    rng: the source of the random orders, seeded by the caller. Raises NotEnough below 9 readings;
    NotYet where all are alike. Source: Good 2005, Permutation, Parametric and Bootstrap Tests, 3;
    the statistic is that of a change point, Page 1955, Biometrika 42, 523-527.
    """
    sample = finite_array(values, least=_LEAST, what="warm-up")
    if sample.min() == sample.max():
        return NotYet(reason="all readings are alike: no warm-up can be seen")
    longest = min(_LONGEST, sample.size // 2)
    draws = _random_starts(sample.size, longest, shuffles, rng)
    level = _first_k(deviations(sample), longest, draws)
    spread = _first_k(deviations(np.abs(sample - np.median(sample))), longest, draws)
    p_value = min(1.0, 2.0 * min(level[1], spread[1]))
    trials = level[0] if level[1] <= spread[1] else spread[0]
    return WarmUp(
        trials=trials if p_value <= alpha else 0,
        differs_in="level" if level[1] <= spread[1] else "spread",
        p_value=p_value,
        n=sample.size,
    )


def _random_starts(
    n: int, longest: int, shuffles: int, rng: np.random.Generator
) -> npt.NDArray[np.int64]:
    return np.array([rng.choice(n, size=longest, replace=False) for _ in range(shuffles)])


def _first_k(away: Array, longest: int, draws: npt.NDArray[np.int64]) -> tuple[int, float]:
    """The k whose first readings differ most, and the share of random orders that differ more."""
    seen = _differences(away[:longest], away.size)
    random = _differences(away[draws], away.size).max(axis=1)
    as_large = int(np.sum(random >= seen.max() * (1.0 - 1e-12)))
    return int(np.argmax(seen)) + 1, (1 + as_large) / (1 + draws.shape[0])


def _differences(starts: Array, n: int) -> Array:
    """The sum of the first k, k = 1, 2, ..., over its standard deviation in a random order."""
    k = np.arange(1, starts.shape[-1] + 1)
    sums: Array = np.abs(np.cumsum(starts, axis=-1)) / np.sqrt(k * (n - k))
    return sums
