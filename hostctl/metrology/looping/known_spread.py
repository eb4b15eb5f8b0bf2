"""Is the spread of a loop's touches known well enough: a stop that looks at fixed counts.

Looks are laid down before the first touch: preferred numbers (ISO 3:1973, series R5: 1, 1.6, 2.5,
4, 6.3, 10, each about 1.6 times the one before) from LEAST touches on, and the most touches there
will be. Left out are the first few at which not even unrounded readings would do. The risk is
shared equally over those left (`claims/looks`), so the intervals of all looks together miss the
truth in at most the whole risk, and the last one stated does, whichever look that is.

Touches are readings of one level that scatter independently: nothing is stated while a drift shows
or neighbours are alike (`order_shows`). The interval is that of rounded readings.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.distributions import chi_square_quantile, normal_quantile
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.claims.looks import Looks
from hostctl.metrology.looping.grid_sums import GridSums
from hostctl.metrology.looping.order_shows import Stretches, order_shows
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.rounding import spread_from

LEAST = 25
_R5 = (1.0, 1.6, 2.5, 4.0, 6.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadLook:
    """One look. touches: how many there were.  spread: of one touch, in the readings' unit, with
    its interval at this look's share of the risk; or why there is none.  half_width: of that
    interval, as a share of the spread.  stop: whether it is known well enough.
    """

    touches: int
    spread: Estimate | NotYet
    half_width: float | None
    stop: bool


class KnownSpread:
    """Told of each touch in order; looks at the counts in `looks`."""

    def __init__(
        self, *, most: int, known_to: float, resolution: float, confidence: float = 0.95
    ) -> None:
        """most: touches there will be at most.  known_to: stop once the half width of the
        interval is at most this share of the spread.  resolution: what readings are rounded to.
        ValueError for fewer than 2 touches or a share not within 0 to 1.
        """
        if most < 2 or not 0.0 < known_to < 1.0:
            raise ValueError(f"most {most}, known to {known_to}: 2 or more, and within 0 to 1")
        self.looks = look_counts(most, known_to, confidence)
        self.known_to = known_to
        self.last: SpreadLook | None = None
        self._share = Looks(declared=len(self.looks)).share
        self._confidence = 1.0 - (1.0 - confidence) * self._share
        self._at = frozenset(self.looks)
        self._sums, self._stretches = GridSums(resolution), Stretches()

    def add(self, value: float) -> SpreadLook | None:
        """One more touch; what a look found where one is due. NotEnough for no number."""
        self._stretches.add(self._sums.add(value))
        if self._sums.n not in self._at:
            return None
        self.last = self._look()
        return self.last

    def _look(self) -> SpreadLook:
        n = self._sums.n
        shows = order_shows(self._sums, self._stretches)
        if shows is not None:
            return SpreadLook(touches=n, spread=NotYet(reason=shows), half_width=None, stop=False)
        found = spread_from(SpreadEvidence([self._sums.bins()], "datum"), self._confidence).quoted
        if isinstance(found, NotYet):
            return SpreadLook(touches=n, spread=found, half_width=None, stop=False)
        half_width = (found.high - found.low) / 2.0 / found.value
        return SpreadLook(
            touches=n, spread=found, half_width=half_width, stop=half_width <= self.known_to
        )


def look_counts(most: int, known_to: float, confidence: float = 0.95) -> tuple[int, ...]:
    """After how many touches it is looked, `most` the last. See above."""
    preferred = (round(10**power * step) for power in range(1, 9) for step in _R5)
    counts = [*(count for count in preferred if LEAST <= count < most), most]
    for first in range(len(counts)):
        risk = (1.0 - confidence) / (len(counts) - first)
        if normal_quantile(1.0 - risk / 2.0) <= known_to * math.sqrt(2.0 * counts[first]):
            return tuple(counts[first:])
    return (most,)


def touches_needed(known_to: float, confidence: float = 0.95) -> int:
    """The fewest touches of one level by which its spread may come to be known so well: as many as
    unrounded readings take at the last look, by the chi-square interval. Rounded ones take more.
    """
    z = normal_quantile(0.5 + confidence / 2.0)
    most = max(2, math.floor((z / known_to) ** 2 / 2.0))
    while not may_be_known(most, known_to, confidence):
        most += 1
    return most


def may_be_known(most: int, known_to: float, confidence: float = 0.95) -> bool:
    """Whether unrounded readings do at the last look, after `most` touches."""
    missed = (1.0 - confidence) / len(look_counts(most, known_to, confidence)) / 2.0
    df = most - 1.0
    low, high = (math.sqrt(df / chi_square_quantile(p, df)) for p in (1.0 - missed, missed))
    return (high - low) / 2.0 <= known_to
