"""How seldom readings lie so closely, or so widely, whatever the places of their means.

The score of all blocks at a sigma has the sum of the blocks' moments, and its tails are taken from
the shifted gamma law with those three (K. Pearson's type III): exact far above a resolution, where
the score is a chi-square, and ever closer as readings and blocks become many. Readings on few
graduations have few different scores: the chance of the very pattern read is added, and below a
resolution or so a share for those that lie next to it (`Lumps`). The largest tail over the places
is what may be promised. tests/data/promises.md has how well it is kept.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from hostctl.metrology.basis.distributions import normal_cdf
from hostctl.metrology.basis.incomplete_functions import gamma_tails
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.rounded.law.bin_counts import BinCounts
from hostctl.metrology.rounded.law.moments import (
    PLACES,
    SAME_EVERYWHERE,
    Frame,
    Moments,
    block_moments,
    frames_at,
)
from hostctl.metrology.rounded.law.score import WIDE, averaged, log_chances, log_likelihood, score

Blocks = Sequence[tuple[BinCounts, int]]
"""Distinct blocks, each with how often it comes."""

# A pattern rarer than this changes no limit that is asked for; it is judged by the mean over all
# places, which below _SMOOTH is far from the largest.
_SMOOTH = 0.5
_RARE = math.log(1e-4)
_Shape = tuple[tuple[int, int], ...]

_REACH = 4.5  # of the means summed over, in standard errors
_VERY_FEW = 5  # values, of which each pattern stands by itself
_SYMMETRIC = 1e-3  # the skewness below which a gamma law is a normal one
STILL = 1e-2
"""The variance below which a score is nearly always the same."""


@dataclass(frozen=True, slots=True)
class Tails:
    """The largest chance, over the places, of a score as low (narrow), as high (wide)."""

    narrow: float
    wide: float


@dataclass(frozen=True, slots=True)
class Lumps:
    """What a smooth law misses where there are few different scores.

    pattern: the share of the pattern's own chance to be added to the narrow tail; the wide one has
    it whole.  neighbours: what a tail is multiplied by for patterns whose scores lie close to it.
    exact_when_alike: readings that are all alike have the lowest score there is, so their own
    chance is the whole tail.
    """

    pattern: float
    neighbours: float
    exact_when_alike: bool

    def narrow(self, smooth: float, chance: float) -> float:
        """A tail from the smooth one and the chance of the pattern: no less than that chance."""
        return max(self.neighbours * (smooth + self.pattern * chance), chance)

    def wide(self, smooth: float, chance: float) -> float:
        """The same for the other tail."""
        return self.neighbours * (smooth + chance)


def tails(blocks: Blocks, sigma: float, reference: Reference) -> Tails:
    """Of readings with a standard deviation of sigma resolutions."""
    found = score(blocks, sigma)
    chances = _pattern_chances(blocks, sigma)
    values = sum(often * block.n for block, often in blocks)
    alike = all(not block.span for block, _ in blocks)
    narrow = wide = 0.0
    for frame in frames_at(reference, sigma):
        lumps = lumps_of(frame, sigma, values)
        for place, moments in enumerate(_summed(blocks, frame, sigma)):
            chance = chances[min(place, len(chances) - 1)]
            below, above = gamma_law(found, moments)
            closer = chance if alike and lumps.exact_when_alike else lumps.narrow(below, chance)
            narrow = max(narrow, closer)
            wide = max(wide, lumps.wide(above, chance))
    return Tails(narrow=min(narrow, 1.0), wide=min(wide, 1.0))


def lumps_of(frame: Frame, sigma: float, values: int) -> Lumps:
    """As much as simulation asks for. values: how many were read, over all blocks.

    Of very few values each pattern stands by itself. Differences of neighbours, being correlated,
    have more patterns that lie close together.
    """
    if frame == "mean" and values <= _VERY_FEW:
        return Lumps(pattern=0.5, neighbours=1.0, exact_when_alike=True)
    fading = min(max(2.0 * (1.5 - sigma), 0.0), 1.0)  # from 1 resolution to 1.5
    if frame == "differences":
        longer = min(max(2.0 * (WIDE - sigma), 0.0), 1.0)
        more = 0.65 * fading + 0.35 * longer
    else:
        more = 0.25 * fading
    return Lumps(pattern=1.0, neighbours=1.0 + more, exact_when_alike=frame != "differences")


def gamma_law(value: float, moments: Moments) -> tuple[float, float]:
    """The chances of at most and of at least this value, by the shifted gamma law."""
    if moments.variance < STILL:  # nearly always the same: Chebyshev's bound on the rest
        distance = value - moments.mean
        total = moments.variance + distance * distance
        rare = moments.variance / total if total > 0.0 else 1.0
        near = 5.0 * math.sqrt(STILL)
        return 1.0 if distance > -near else rare, 1.0 if distance < near else rare
    deviation = math.sqrt(moments.variance)
    z = (value - moments.mean) / deviation
    skewness = moments.third / deviation**3
    if abs(skewness) < _SYMMETRIC:
        z -= skewness / 6.0 * (z * z - 1.0)
        return normal_cdf(z), normal_cdf(-z)
    shape = 4.0 / (skewness * skewness)
    x = shape + (z if skewness > 0.0 else -z) * math.sqrt(shape)
    below, above = gamma_tails(shape, max(x, 0.0))
    return (below, above) if skewness > 0.0 else (above, below)


def _summed(blocks: Blocks, frame: Frame, sigma: float) -> list[Moments]:
    sizes: dict[int, int] = {}
    for block, often in blocks:
        sizes[block.n] = sizes.get(block.n, 0) + often
    each = [(block_moments(frame, n, sigma), often) for n, often in sizes.items()]
    total = [moments * each[0][1] for moments in each[0][0]]
    for places, often in each[1:]:
        total = [one + moments * often for one, moments in zip(total, places, strict=True)]
    return total


def _pattern_chances(blocks: Blocks, sigma: float) -> list[float]:
    """The chance of these very blocks, shifted, mirrored or in another order, at each place.

    The place no longer showing, a sum over shifts is the integral over the mean.
    """
    arrangements = _arrangements(blocks)
    if sigma >= _SMOOTH:
        likely = arrangements + math.fsum(
            often * min(_log_orders(block) + _log_integral(block, sigma), 0.0)
            for block, often in blocks
        )
        if sigma > SAME_EVERYWHERE:
            return [math.exp(min(likely, 0.0))]
        if likely < _RARE:
            return [0.0]
    return [
        math.exp(
            min(
                arrangements
                + math.fsum(often * _log_chance_at(block, place, sigma) for block, often in blocks),
                0.0,
            )
        )
        for place in PLACES
    ]


def _log_integral(block: BinCounts, sigma: float) -> float:
    """Of the likelihood over the mean, the mirror image's too where it is another pattern."""
    forwards, backwards = _shapes(block)
    images = math.log(2.0) if forwards != backwards else 0.0
    if sigma < WIDE:
        return averaged(block, sigma)[0] + images
    top = log_likelihood(block, block.mean_graduation, sigma)[0]
    return top + math.log(sigma * math.sqrt(2.0 * math.pi / block.n)) + images


def _arrangements(blocks: Blocks) -> float:
    """The logarithm of in how many orders blocks of the same size can come."""
    if len(blocks) == 1:
        return 0.0
    sizes: dict[int, int] = {}
    shapes: dict[_Shape, int] = {}
    for block, often in blocks:
        sizes[block.n] = sizes.get(block.n, 0) + often
        shape = min(_shapes(block))
        shapes[shape] = shapes.get(shape, 0) + often
    return math.fsum(math.lgamma(often + 1) for often in sizes.values()) - math.fsum(
        math.lgamma(often + 1) for often in shapes.values()
    )


@lru_cache(maxsize=4096)
def _shapes(block: BinCounts) -> tuple[_Shape, _Shape]:
    """The pattern from its lowest graduation on, and its mirror image."""
    first, last = block.graduations[0], block.graduations[-1]
    forwards = tuple(zip((k - first for k in block.graduations), block.counts, strict=True))
    backwards = tuple((last - first - k, often) for k, often in reversed(forwards))
    return forwards, backwards


@lru_cache(maxsize=4096)
def _log_orders(block: BinCounts) -> float:
    """The logarithm of in how many orders these readings can come."""
    return math.lgamma(block.n + 1) - math.fsum(math.lgamma(c + 1) for c in block.counts)


def _log_chance_at(block: BinCounts, place: float, sigma: float) -> float:
    """The chance of the pattern, or its mirror image, with the mean at a place."""
    forwards, backwards = _shapes(block)
    shifts = _log_shifts(block, place, sigma)
    if forwards != backwards:
        shifts += _log_shifts(block, -place, sigma)
    top = max(shifts)  # many readings: each of their chances underflows
    total = math.fsum(math.exp(shift - top) for shift in shifts)
    return min(_log_orders(block) + top + math.log(total), 0.0)


def _log_shifts(block: BinCounts, place: float, sigma: float) -> list[float]:
    middle = block.mean_graduation
    reach = _REACH * sigma / math.sqrt(block.n) + 0.5
    first = math.ceil(middle - reach - place)
    last = math.floor(middle + reach - place)
    lowest = block.graduations[0] - last
    logs = log_chances(lowest, block.graduations[-1] - first, place, sigma)
    counts = list(zip(block.graduations, block.counts, strict=True))
    return [
        sum([count * logs[k - shift - lowest] for k, count in counts])
        for shift in range(first, last + 1)
    ]
