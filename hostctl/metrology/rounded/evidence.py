"""What rounded readings say of a spread, at every confidence: limits, the likeliest, and the box.

A sigma is ruled out from above where readings as close as these come too seldom, from below where
ones as wide do, the means of the blocks lying wherever that is least so (`law.tails`). All that
is given out is of one setting, in the unit of the readings; inside, sigma is that of one value
fitted (with `previous` a difference) in resolutions.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from hostctl.metrology.basis.confidence_box import MESH, ConfidenceBox, Quantiles, quantiles_at
from hostctl.metrology.basis.distributions import normal_quantile, probit
from hostctl.metrology.basis.reference import Reference, SpreadFreedom, spread_freedom
from hostctl.metrology.basis.root_finding import close_in
from hostctl.metrology.rounded.law.bin_counts import BinCounts
from hostctl.metrology.rounded.law.moments import block_moments, frames_at
from hostctl.metrology.rounded.law.score import distinct_blocks, score
from hostctl.metrology.rounded.law.tails import Tails, tails

FINEST = 0.1
"""Below this sigma, in resolutions, nothing is told apart: a mean on an edge looks the same."""

_LEAST = math.log(FINEST)
_FARTHEST = 1e7
_CLOSE = 1e-5  # of a limit, on log sigma and on the normal scale
_FARTHEST_PLACE = 4.0  # on the normal scale, of what a box has to hold
_NEAR = 0.4  # on the normal scale, of a point that was worked out for another limit
_STRAIGHT = 3e-3  # on the normal scale, how near the secant has to come
_STRIDE = 0.6  # on the normal scale, between two points of a box


@dataclass(frozen=True)
class SpreadEvidence:
    """Blocks of at least two values each, of one resolution, with one common sigma and a mean each.

    Where blocks are many and alike in shape, each shape is worked out once.
    """

    blocks: Sequence[BinCounts]
    reference: Reference
    _known: dict[float, Tails] = field(default_factory=dict, repr=False)

    @property
    def unit(self) -> float:
        """What sigma of a setting is one resolution of the values fitted."""
        return self.blocks[0].resolution / (math.sqrt(2.0) if self.reference == "previous" else 1.0)

    @cached_property
    def freedom(self) -> SpreadFreedom:
        """What the sum of squares would be worth if readings were points."""
        return spread_freedom([block.n for block in self.blocks], self.reference)

    @cached_property
    def sum_of_squares(self) -> float:
        """About each block's own mean, in squared resolutions."""
        return math.fsum(block.sum_of_squares for block in self.blocks)

    @cached_property
    def span(self) -> int:
        """Graduations from lowest to highest of the widest block."""
        return max(block.span for block in self.blocks)

    def tails(self, sigma: float) -> Tails:
        """The chances of readings as close, and as wide, were this the sigma of a setting."""
        return self._tails(max(sigma / self.unit, FINEST))

    def _tails(self, sigma: float) -> Tails:
        found = self._known.get(sigma)
        if found is None:
            found = self._known[sigma] = tails(self._distinct, sigma, self.reference)
        return found

    @cached_property
    def likeliest(self) -> float:
        """The sigma whose mean score is the one found; no less than FINEST resolutions."""

        def too_high(log_sigma: float) -> float:
            sigma = math.exp(log_sigma)
            return (self._mean_score(sigma) - score(self._distinct, sigma)) / self._slope

        start = max(self._start, _LEAST)
        found = _by_secant(too_high, (start, too_high(start)), self._slope)
        if found is None:
            found = _crossing(too_high, start, self._slope)
        return self.unit * math.exp(found)

    @property
    def figure(self) -> float:
        """The likeliest; 0 where the readings give no more than a bound."""
        return self.likeliest if self.span > 1 else 0.0

    def upper(self, risk: float) -> float:
        """The sigma above which readings as close come with at most this chance."""
        found = self._limit(normal_quantile(1.0 - risk), self._guess(risk), _at_most)
        return self.unit * math.exp(found)

    def lower(self, risk: float) -> float:
        """The sigma below which readings as wide come with at most this chance; 0 where none."""
        found = self._limit(normal_quantile(risk), self._guess(1.0 - risk), _at_least)
        return 0.0 if found <= _LEAST else self.unit * math.exp(found)

    def _limit(self, wanted: float, guess: float, place: Callable[[Tails], float]) -> float:
        """On log sigma, where a limit's place on the normal scale is the one wanted.

        What was worked out for other limits is where the search begins.
        """

        def too_high(log_sigma: float) -> float:
            return place(self._tails(math.exp(log_sigma))) - wanted

        known = ((math.log(sigma), place(one) - wanted) for sigma, one in self._known.items())
        nearest = min(known, key=lambda point: abs(point[1]), default=(guess, math.inf))
        start = nearest if abs(nearest[1]) < _NEAR else (guess, too_high(max(guess, _LEAST)))
        found = _by_secant(too_high, start, self._slope)
        return _crossing(too_high, guess, self._slope) if found is None else found

    def score(self, sigma: float) -> float:
        """Which way, and how strongly, the readings pull a sigma of a setting."""
        return score(self._distinct, max(sigma / self.unit, FINEST))

    def information(self, sigma: float, more: int = 0) -> float:
        """The variance of that score, on average over the means' places: twice the degrees of
        freedom that the readings are worth.  more: readings added to each block.
        """
        at = max(sigma / self.unit, FINEST)
        frame = frames_at(self.reference, at)[0]
        places = (
            [moments.variance for moments in block_moments(frame, block.n + more, at)]
            for block in self.blocks
        )
        return math.fsum(sum(variances) / len(variances) for variances in places)

    @cached_property
    def box(self) -> ConfidenceBox:
        """The limits at every risk."""
        logs = self._points_of_box()
        found = [self._tails(math.exp(x)) for x in logs]
        upper = list(map(_at_most, found))
        lower = list(map(_at_least, found))
        for i in range(len(logs) - 2, -1, -1):
            upper[i] = min(upper[i], upper[i + 1])
        for i in range(1, len(logs)):
            lower[i] = max(lower[i], lower[i - 1])
        at_most = quantiles_at(upper, logs, math.inf)
        at_least = quantiles_at(lower, logs, logs[-1])
        return ConfidenceBox(
            upper=Quantiles(tuple(self.unit * _exp(x) for x in at_most.values)),
            lower=Quantiles(
                tuple(
                    0.0 if z < lower[0] else self.unit * _exp(x)
                    for z, x in zip(MESH, at_least.values, strict=True)
                )
            ),
        )

    @cached_property
    def _distinct(self) -> list[tuple[BinCounts, int]]:
        return distinct_blocks(self.blocks)

    @property
    def _points_variance(self) -> float:
        return self.sum_of_squares / (self.freedom.scale * self.freedom.df) - 1.0 / 12.0

    @property
    def _start(self) -> float:
        return 0.5 * math.log(max(self._points_variance, 0.04))

    @property
    def _slope(self) -> float:
        """How steep a limit's place on the normal scale is against log sigma, of points."""
        return math.sqrt(2.0 * self.freedom.df)

    def _guess(self, chance: float) -> float:
        """The limit of points less the variance of rounding: where to look first.

        The chi-square quantile is that of E. B. Wilson and M. M. Hilferty, 1931.
        """
        df, part = self.freedom.df, 2.0 / (9.0 * self.freedom.df)
        root = max(1.0 - part + normal_quantile(chance) * math.sqrt(part), 0.1)
        variance = self.sum_of_squares / self.freedom.scale / (df * root**3) - 1.0 / 12.0
        return 0.5 * math.log(max(variance, 0.04))

    def _mean_score(self, sigma: float) -> float:
        """Over all places of the mean: 0 but for differences, which are correlated."""
        if self.reference != "previous":
            return 0.0
        frame = frames_at(self.reference, sigma)[0]
        means = [
            [moments.mean for moments in block_moments(frame, block.n, sigma)]
            for block in self.blocks
        ]
        return math.fsum(sum(places) / len(places) for places in means)

    def _points_of_box(self) -> list[float]:
        """Where on log sigma to look, so that no two are far apart on the normal scale."""
        start = max(self._start, _LEAST)
        upwards = self._walk(start, _at_most, 1.0)
        downwards = self._walk(start, lambda one: -_at_least(one), -1.0)
        return sorted({start, *upwards, *downwards})

    def _walk(self, start: float, away: Callable[[Tails], float], side: float) -> Iterator[float]:
        """From the start to one side, until the distribution that ends there has ended."""
        x, stride = start, 0.1
        here = away(self._tails(math.exp(x)))
        end = math.log(_FARTHEST if side > 0.0 else FINEST)
        while here < _FARTHEST_PLACE and x != end:
            x = min(x + stride, end) if side > 0.0 else max(x - stride, end)
            yield x
            before, here = here, away(self._tails(math.exp(x)))
            most = 2.0 if here > -2.0 else 0.2
            stride = min(stride * min(_STRIDE / max(here - before, 0.1), 2.0), most)


def _at_most(found: Tails) -> float:
    """Where sigma lies among the upper limits, on the normal scale."""
    return -probit(found.narrow)


def _at_least(found: Tails) -> float:
    """Where sigma lies among the lower limits, on the normal scale."""
    return probit(found.wide)


def _by_secant(
    too_high: Callable[[float], float], start: tuple[float, float], slope: float
) -> float | None:
    """Where a function that is close to straight is 0; None where it isn't straight.

    start: a place and the function there.  slope: about what it rises by.
    """
    x, miss = start
    rise = slope
    for _ in range(3):
        after = x - miss / rise
        if not _LEAST < after < x + 2.0:
            return None
        missed = too_high(after)
        if after == x or not 0.5 * slope < (missed - miss) / (after - x) < 2.0 * slope:
            return after if abs(missed) < _CLOSE else None
        rise = (missed - miss) / (after - x)
        x, miss = after, missed
        if abs(miss) < _STRAIGHT:
            return x - miss / rise
    return None


def _crossing(too_high: Callable[[float], float], guess: float, slope: float) -> float:
    """Where a rising function of log sigma is 0, no lower than FINEST. slope: what it rises by."""
    low = high = max(guess, _LEAST)
    below = above = too_high(low)
    step = min(1.05 * abs(below) / slope + 0.01, 1.0)
    while below > 0.0:
        if low <= _LEAST:
            return _LEAST
        high, above = low, below
        low, step = max(low - step, _LEAST), 2.0 * step
        below = too_high(low)
    while above < 0.0:
        low, below = high, above
        high, step = high + step, 1.6 * step
        above = too_high(high)
    return close_in(too_high, low, below, high, above, within=_CLOSE) if low < high else low


def _exp(x: float) -> float:
    return math.exp(x) if x < 700.0 else math.inf
