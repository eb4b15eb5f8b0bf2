"""The p value of a permutation test, drawn only until it is known to be large.

Once so many random orders were as extreme as the one seen, p is their share, and that is exact too
(Besag and Clifford 1991, Biometrika 78, 301-304); a small p takes all the orders allowed.
"""

from collections.abc import Callable

_ENOUGH = 20


def share_as_extreme(draw: Callable[[], float], seen: float, most: int) -> tuple[float, int]:
    """p, and how many orders were drawn for it. draw: the statistic of one more random order."""
    limit = seen * (1.0 - 1e-12)
    as_large = 0
    for drawn in range(1, most + 1):
        as_large += draw() >= limit
        if as_large == _ENOUGH:
            return as_large / drawn, drawn
    return (1 + as_large) / (1 + most), most
