"""What a loop keeps of its touches: whole numbers of graduations, summed exactly as they come.

The sums depend on nothing but the readings in their order, so a loop that is taken up again and
told the same readings stands where it stood.
"""

import math
from collections import Counter

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.rounded.law.bin_counts import BinCounts


def check_number(value: float, place: int) -> None:
    """Raises NotEnough where touch number `place` gave no number."""
    if not math.isfinite(value):
        raise NotEnough(Reason(Why.NOT_A_NUMBER, what="a loop", place=place, value=value))


class GridSums:
    """Sums of readings in graduations from the first one; as large as the graduations read."""

    def __init__(self, resolution: float) -> None:
        """resolution: what readings are rounded to, in their unit; ValueError if not above 0."""
        if not (resolution > 0.0 and math.isfinite(resolution)):
            raise ValueError(f"the resolution is {resolution}, must be above 0")
        self.resolution = resolution
        self.start = 0.0
        self.n = self.total = self.squares = 0
        self.by_place = 0  # sum of i k, i from 0
        self.by_neighbour = 0  # sum of each with the one after it
        self.last = 0
        self.counts: Counter[int] = Counter()

    def add(self, value: float) -> int:
        """One more reading, in the unit of the resolution; the graduation it counts on.

        One between two graduations counts on the nearer. Raises NotEnough for no number.
        """
        check_number(value, self.n + 1)
        if self.n == 0:
            self.start = value
        k = round((value - self.start) / self.resolution)
        if self.n:
            self.by_neighbour += self.last * k
        self.by_place += self.n * k
        self.n += 1
        self.total += k
        self.squares += k * k
        self.counts[k] += 1
        self.last = k
        return k

    @property
    def mean(self) -> float:
        """In graduations from the first reading."""
        return self.total / self.n

    @property
    def about_mean(self) -> float:
        """The sum of squared deviations, in squared graduations."""
        return (self.n * self.squares - self.total * self.total) / self.n

    @property
    def along(self) -> float:
        """The sum of products of deviation and place in the order."""
        return (2 * self.by_place - (self.n - 1) * self.total) / 2

    @property
    def neighbours(self) -> float:
        """Lag-1 autocorrelation, about the mean (e-Handbook 1.3.5.12); 0 where all are alike."""
        n, total = self.n, self.total
        if not self.about_mean:
            return 0.0
        # the first one is 0 by the start of the grid
        products = n * n * self.by_neighbour - n * total * (2 * total - self.last)
        return (products + (n - 1) * total * total) / (n * n) / self.about_mean

    def bins(self) -> BinCounts:
        """As counts on the grid, for all that minds rounding."""
        graduations = sorted(self.counts)
        middle = graduations[len(graduations) // 2]
        return BinCounts(
            resolution=self.resolution,
            centre=self.start + middle * self.resolution,
            graduations=tuple(k - middle for k in graduations),
            counts=tuple(self.counts[k] for k in graduations),
        )
