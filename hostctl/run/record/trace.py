"""The course of readings without a person between them, in bounded memory: means of neighbours.

Each reading counts from the first of its point, so that points at different heights lie together.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

MOST_MEANS = 64
"""So many stand for all: with one more each two neighbours become one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Readings in the order taken, as means of `each` neighbours; the last may be of fewer.

    firsts_mm: what each point read first, which its readings count from.
    """

    firsts_mm: Mapping[str, float] = field(default_factory=dict)
    means_mm: tuple[float, ...] = ()
    each: int = 1
    in_last: int = 0

    def after(self, point: str, value_mm: float) -> "Trace":
        """With one more reading."""
        if point in self.firsts_mm:
            return self._with(value_mm - self.firsts_mm[point])
        firsts_mm = {**self.firsts_mm, point: value_mm}
        return replace(self, firsts_mm=firsts_mm)._with(0.0)

    def _with(self, value_mm: float) -> "Trace":
        if 0 < self.in_last < self.each:
            *whole, last = self.means_mm
            mean_mm = last + (value_mm - last) / (self.in_last + 1)
            return replace(self, means_mm=(*whole, mean_mm), in_last=self.in_last + 1)
        if len(self.means_mm) < MOST_MEANS:
            return replace(self, means_mm=(*self.means_mm, value_mm), in_last=1)
        firsts, seconds = self.means_mm[::2], self.means_mm[1::2]
        halved = tuple((one + two) / 2 for one, two in zip(firsts, seconds, strict=True))
        return replace(self, means_mm=(*halved, value_mm), each=2 * self.each, in_last=1)

    @property
    def drift_mm(self) -> float | None:
        """The mean of the last quarter less that of the first; None for fewer than eight means."""
        quarter = len(self.means_mm) // 4
        if quarter < 2:
            return None
        first, last = self.means_mm[:quarter], self.means_mm[-quarter:]
        return sum(last) / quarter - sum(first) / quarter
