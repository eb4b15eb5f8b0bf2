"""From values to shares of the width, and the round values that are written along it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

EDGE = 0.04  # of the width, left free at either side for labels and round dots
MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class Scale:
    """From `low` to `high`, above it. by_ratio: equal ratios are equally long; both are above 0."""

    low: float
    high: float
    by_ratio: bool = False

    def share(self, value: float) -> float:
        """Where the value lies, 0 to 1 over the whole width; held at the ends."""
        low, high, at = (self._own(one) for one in (self.low, self.high, value))
        return EDGE + (1 - 2 * EDGE) * min(max((at - low) / (high - low), 0.0), 1.0)

    def holds(self, value: float) -> bool:
        """Whether it lies on the scale."""
        return self.low <= value <= self.high

    def ticks(self) -> Sequence[float]:
        """Round values along it: 1, 2 or 5 times a power of ten apart; of ratios those."""
        return self._ratios() if self.by_ratio else self._steps()

    def _own(self, value: float) -> float:
        return math.log(max(value, 1e-300)) if self.by_ratio else value

    def _steps(self) -> list[float]:
        least = (self.high - self.low) / MOST_TICKS
        power = 10.0 ** math.floor(math.log10(least))
        step = next(power * by for by in (1, 2, 5, 10) if power * by >= least * (1 - 1e-9))
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return [step * k for k in range(first, last + 1)]

    def _ratios(self) -> list[float]:
        first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
        each = [by * 10.0**power for power in range(first, last + 1) for by in (1, 2, 5)]
        found = [one for one in each if self.holds(one)]
        return found if len(found) <= MOST_TICKS else [10.0**p for p in range(first, last + 1)]
