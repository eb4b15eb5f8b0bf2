"""From values to shares of the width, and the round values that are written along it."""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from hostctl.report.document.significant import in_mm, short_number
from hostctl.report.figures.pen.lettering import NARROW_PX, width_px

EDGE = 0.06  # of the width, left free at either side for labels and round dots
MOST_TICKS = 6
BETWEEN_PX = 12.0
REACH = 1.5  # so many spans of what most values fill are drawn beyond it; what lies further is cut
FEW = 5  # of so few, none is an exception


class Scale(NamedTuple):
    """From `low` to `high`, above it. by_ratio: equal ratios are equally long; both are above 0.
    first, last: where it begins and ends, as shares of the width."""

    low: float
    high: float
    by_ratio: bool = False
    first: float = EDGE
    last: float = 1 - EDGE

    def share(self, value: float) -> float:
        """Where the value lies, 0 to 1 over the whole width; held at the ends."""
        low, high, at = (self._own(one) for one in (self.low, self.high, value))
        return self.first + (self.last - self.first) * min(max((at - low) / (high - low), 0), 1)

    @property
    def per_unit(self) -> float:
        """The share of the width that one unit takes."""
        return (self.last - self.first) / (self.high - self.low)

    def holds(self, value: float) -> bool:
        """Whether it lies on the scale."""
        slack = 1e-9 * (self.high - self.low)
        return self.low - slack <= value <= self.high + slack

    def ticks(self, *, signed: bool, most: int = MOST_TICKS) -> Sequence[tuple[float, str]]:
        """Round values along it with their labels, so few that these fit beside each other."""
        for few in range(most, 1, -1):
            found = self._worded(self._round(few), signed)
            if self._fit(found):
                return found
        return self._worded([self._round(1)[0]] if self._round(1) else [], signed)

    def levels(self, *, signed: bool, most: int = 5) -> Sequence[tuple[float, str]]:
        """The same for a scale that stands upright."""
        return self._worded(self._round(most), signed)

    def _worded(self, values: Sequence[float], signed: bool) -> list[tuple[float, str]]:
        if self.by_ratio:
            return [(one, short_number(one)) for one in values]
        step = values[1] - values[0] if len(values) > 1 else 10.0 ** _power(self.high - self.low)
        word = _signed(step) if signed else _unsigned(step)
        return [(one, word(one)) for one in values]

    def _fit(self, found: Sequence[tuple[float, str]]) -> bool:
        places = [(self.share(one) * NARROW_PX, width_px(word)) for one, word in found]
        return all(
            right - left >= (one + other) / 2 + BETWEEN_PX
            for (left, one), (right, other) in pairwise(places)
        )

    def _own(self, value: float) -> float:
        return math.log(max(value, 1e-300)) if self.by_ratio else value

    def _round(self, most: int) -> list[float]:
        if not self.by_ratio:
            return self._steps(most)
        found = self._ratios()
        if len(found) < 3:
            return [one for one in self._steps(most) if one > 0]
        tens = [one for one in found if math.isclose(math.log10(one), round(math.log10(one)))]
        kept = found if len(found) <= most else tens
        return kept[:: math.ceil(len(kept) / most)]

    def _steps(self, most: int) -> list[float]:
        least = (self.high - self.low) / most
        power = 10.0 ** _power(least)
        step = next(power * by for by in (1, 2, 5, 10) if power * by >= least * (1 - 1e-9))
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return [step * k for k in range(first, last + 1)]

    def _ratios(self) -> list[float]:
        first, last = _power(self.low), _power(self.high) + 1
        each = [by * 10.0**power for power in range(first, last + 1) for by in (1, 2, 5)]
        return [one for one in each if self.holds(one)]


def readable(
    values: Iterable[tuple[float, int]], must: Sequence[float], least: float
) -> tuple[float, float]:
    """The limits within which values, each so many times, are drawn to scale.

    They hold what must be seen, and all values, unless some lie so far off that the others would
    fall together. least: how far it reaches to either side where all are alike.
    """
    ordered = sorted(values)
    total = sum(count for _, count in ordered)
    tail = 0.1 * (total - 1) if total >= FEW else 0.0
    core = [*must, _quantile(ordered, tail), _quantile(ordered, total - 1 - tail)]
    low, high = min(core), max(core)
    reach = REACH * max(high - low, 2 * least)
    drawn = [value for value, _ in ordered if low - reach <= value <= high + reach]
    return min([low, *drawn]) - least, max([high, *drawn]) + least


def off_the_scale(found: Sequence[str]) -> str:
    """A sentence on what is too far off to be drawn to scale; empty where nothing is."""
    more = f" and {len(found) - 3} more" if len(found) > 3 else ""
    return f"Off the scale: {'; '.join(found[:3])}{more}." if found else ""


def _quantile(ordered: Sequence[tuple[float, int]], passed: float) -> float:
    seen = 0
    for value, count in ordered:
        seen += count
        if seen > passed:
            return value
    return ordered[-1][0]


def _power(value: float) -> int:
    return math.floor(math.log10(value) + 1e-9)


def _signed(step: float) -> Callable[[float], str]:
    return lambda value: in_mm(value, step)


def _unsigned(step: float) -> Callable[[float], str]:
    return lambda value: in_mm(value, step).lstrip("+")
