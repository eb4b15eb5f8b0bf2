"""The likelihood of a spread over several blocks, averaged over where each block's mean lies.

The profile over many means takes each at its best, so that a mean a block, for no more than a few
readings, pulls sigma down however many blocks there are (J. Neyman, E. L. Scott, "Consistent
estimates based on partially consistent observations", Econometrica 16, 1948). Averaged with equal
weight over every mean, the likelihood is the chance of the sample for a mean anywhere in a
graduation, and far above a resolution that of the sum of squares on its n - B degrees of freedom
(H. D. Patterson, R. Thompson, Biometrika 58, 1971).

With the profile's a = mean / sigma and tau = 1 / sigma, a block gives the integral of
exp(l(a, tau)) over a, divided by tau. The trapezium rule in steps of 1 / sqrt(n), below which no
such bell is narrow, has an error near exp(-2 pi^2).
"""

import math
from collections.abc import Iterator, Sequence
from itertools import count

from hostctl.metrology.rounded.bin_counts import BinCounts
from hostctl.metrology.rounded.likelihood import (
    Profile,
    Slopes,
    best_mean,
    block_slopes,
    distinct_blocks,
)

# Where the likelihood has fallen by so much from its top, 1e-11, the rest adds nothing.
_FALLEN = 25.0


class MarginalLikelihood:
    """The likelihood of some blocks with one common sigma, averaged over their means."""

    def __init__(self, blocks: Sequence[BinCounts]) -> None:
        self._blocks = distinct_blocks(blocks)
        self._means = [block.mean_graduation for block, _ in self._blocks]

    def at(self, tau: float) -> Profile:
        """The log-likelihood at sigma = 1 / tau resolutions."""
        value = slope = curvature = 0.0
        for index, (block, times) in enumerate(self._blocks):
            a = best_mean(block, self._means[index] * tau, tau)[1][0]
            self._means[index] = a / tau
            one = _averaged(block, a, tau)
            value += times * one.value
            slope += times * one.slope
            curvature += times * one.curvature
        return Profile(value, slope, curvature)


def _averaged(block: BinCounts, a: float, tau: float) -> Profile:
    nodes = list(_nodes(block, a, tau))
    top = nodes[0].value
    weights = [math.exp(node.value - top) for node in nodes]
    total = sum(weights)
    pairs = list(zip(weights, nodes, strict=True))
    slope = sum(weight * node.by_tau for weight, node in pairs) / total
    bend = sum(weight * (node.by_tau_tau + (node.by_tau - slope) ** 2) for weight, node in pairs)
    return Profile(top + math.log(total / tau), slope - 1.0 / tau, bend / total + 1.0 / (tau * tau))


def _nodes(block: BinCounts, a: float, tau: float) -> Iterator[Slopes]:
    """The slopes at the best a, then outwards on either side as far as they matter."""
    here = block_slopes(block, a, tau)
    least = here.value - _FALLEN
    step = 1.0 / math.sqrt(block.n)
    yield here
    for side in (-step, step):
        for k in count(1):
            there = block_slopes(block, a + k * side, tau)
            if there.value < least:
                break
            yield there
