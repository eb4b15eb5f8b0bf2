"""The score of a spread from rounded readings: which way, and how strongly, they pull a sigma.

With edges in resolutions, a reading on graduation k has the probability

    P = Phi(u) - Phi(l),   l = (k - 1/2 - m) / sigma,   u = (k + 1/2 - m) / sigma.

A block's likelihood of sigma is the product of these averaged over every mean m with equal weight:
that of a zero which may lie anywhere within a graduation, and far above a resolution that of the
sum of squares on its n - 1 degrees of freedom (H. D. Patterson, R. Thompson, Biometrika 58, 1971).
The score is the derivative of its logarithm by log sigma: 0 on average over the mean, negative for
readings that lie closer than sigma says. Scores of blocks add up, however many there are; a mean
each, fitted, would not (J. Neyman, E. L. Scott, Econometrica 16, 1948).

The trapezium rule over m in steps of 1.25 sigma / sqrt(n), where no such bell is narrower than
sigma / sqrt(n), has an error near exp(-12). From WIDE resolutions up the sum of squares says the
same, to one part in a thousand and up to a common factor, and is taken instead. Work grows with the
occupied graduations, never with the readings.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import count

from hostctl.metrology.basis.distributions import mills_ratio
from hostctl.metrology.rounded.law.bin_counts import BinCounts

WIDE = 2.5
"""The sigma, in resolutions, from which a sum of squares is as good as the likelihood."""

_SQRT2 = math.sqrt(2.0)
_HALF_SQRT2 = math.sqrt(0.5)
_SQRT_2PI = math.sqrt(2.0 * math.pi)
_LEAST_P = 1e-280
# Where the likelihood has fallen by so much from its top, 6e-6, the rest adds too little.
_FALLEN = 12.0
_STEP = 1.25  # of the rule, in standard errors of a mean


def bin_terms(low: float, high: float) -> tuple[float, float]:
    """log P of a normal value between low and high, and its derivative by log sigma."""
    if high <= 0.0:
        low, high = -high, -low
    if low < 0.0:
        p = 0.5 * (math.erf(high / _SQRT2) - math.erf(low / _SQRT2))
    else:
        p = 0.5 * (math.erfc(low / _SQRT2) - math.erfc(high / _SQRT2))
    if p > _LEAST_P:
        pull = low * math.exp(-0.5 * low * low) - high * math.exp(-0.5 * high * high)
        return math.log(p), pull / (_SQRT_2PI * p)
    return _far_terms(low, high)


def _far_terms(low: float, high: float) -> tuple[float, float]:
    """The same so far out that P underflows: by Mills' ratio."""
    ratio = math.exp(-0.5 * (high - low) * (high + low))
    over = mills_ratio(low) - ratio * mills_ratio(high)
    return math.log(over / _SQRT_2PI) - 0.5 * low * low, (low - ratio * high) / over


def distinct_blocks(blocks: Iterable[BinCounts]) -> list[tuple[BinCounts, int]]:
    """Each shape of block once, wherever it lies, with how often it comes: they are soon few."""
    times = Counter((block.graduations, block.counts) for block in blocks)
    shapes = {(block.graduations, block.counts): block for block in blocks}
    return [(shapes[shape], often) for shape, often in times.items()]


def score(blocks: Sequence[tuple[BinCounts, int]], sigma: float) -> float:
    """The score of some blocks, each with how often it comes, at a sigma in resolutions.

    From WIDE up it is S / (sigma^2 + 1/12) less the degrees of freedom n - B, S the sum of squares.
    """
    if sigma >= WIDE:
        variance = sigma * sigma + 1.0 / 12.0
        return math.fsum(
            often * (block.sum_of_squares / variance - (block.n - 1)) for block, often in blocks
        )
    return math.fsum(often * averaged(block, sigma)[1] for block, often in blocks)


def _between(low: float, high: float, tail_low: float, tail_high: float) -> float:
    """The chance of a normal value between two edges; of each, its chance farther out, twice."""
    if low >= 0.0:
        return 0.5 * (tail_low - tail_high)
    if high <= 0.0:
        return 0.5 * (tail_high - tail_low)
    return 1.0 - 0.5 * (tail_low + tail_high)


def log_likelihood(block: BinCounts, mean: float, sigma: float) -> tuple[float, float]:
    """Of one block with a known mean, both in resolutions, and its derivative by log sigma.

    `bin_terms` of each graduation, in one pass: neighbours share an edge.
    """
    width = 1.0 / sigma
    value = pulled = 0.0
    before, tail_high, pull_high = None, 0.0, 0.0
    for k, times in zip(block.graduations, block.counts, strict=True):
        low = (k - 0.5 - mean) * width
        high = low + width
        if before == k - 1:
            tail_low, pull_low = tail_high, pull_high
        else:
            tail_low, pull_low = math.erfc(abs(low) * _HALF_SQRT2), low * math.exp(-0.5 * low * low)
        tail_high, pull_high = (
            math.erfc(abs(high) * _HALF_SQRT2),
            high * math.exp(-0.5 * high * high),
        )
        before = k
        p = _between(low, high, tail_low, tail_high)
        if p > _LEAST_P:
            value += times * math.log(p)
            pulled += times * (pull_low - pull_high) / (_SQRT_2PI * p)
        else:
            log_p, pull = bin_terms(low, high)
            value += times * log_p
            pulled += times * pull
    return value, pulled


def log_chances(first: int, last: int, place: float, sigma: float) -> list[float]:
    """log P of each graduation from the first to the last, of a mean at a place in graduations."""
    width = 1.0 / sigma
    low = (first - 0.5 - place) * width
    tail_low = math.erfc(abs(low) * _HALF_SQRT2)
    found = []
    for _ in range(first, last + 1):
        high = low + width
        tail_high = math.erfc(abs(high) * _HALF_SQRT2)
        p = _between(low, high, tail_low, tail_high)
        found.append(math.log(p) if p > _LEAST_P else bin_terms(low, high)[0])
        low, tail_low = high, tail_high
    return found


@lru_cache(maxsize=4096)
def averaged(block: BinCounts, sigma: float) -> tuple[float, float]:
    """The logarithm of the likelihood's integral over the mean, and the score."""
    nodes = list(_nodes(block, sigma))
    top = max(value for value, _ in nodes)
    total = pulled = 0.0
    for value, pull in nodes:
        weight = math.exp(value - top)
        total += weight
        pulled += weight * pull
    return top + math.log(total * _STEP * sigma / math.sqrt(block.n)), pulled / total


def _nodes(block: BinCounts, sigma: float) -> Iterator[tuple[float, float]]:
    """The likelihood at means from the sample's own outwards, as far as they matter."""
    middle, step = block.mean_graduation, _STEP * sigma / math.sqrt(block.n)
    here = log_likelihood(block, middle, sigma)
    top = here[0]
    yield here
    for side in (-step, step):
        for k in count(1):
            there = log_likelihood(block, middle + k * side, sigma)
            top = max(top, there[0])
            if there[0] < top - _FALLEN:
                break
            yield there
