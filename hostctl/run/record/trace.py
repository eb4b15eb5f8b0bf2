"""The course of readings without a person between them, in bounded memory: means of neighbours."""

from dataclasses import dataclass

MOST_MEANS = 64
"""So many stand for all: with one more each two neighbours become one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Readings in the order taken, as means of `each` neighbours; the last may be of fewer."""

    means_mm: tuple[float, ...] = ()
    each: int = 1
    in_last: int = 0

    def after(self, value_mm: float) -> "Trace":
        """With one more reading."""
        if 0 < self.in_last < self.each:
            *whole, last = self.means_mm
            mean_mm = last + (value_mm - last) / (self.in_last + 1)
            return Trace(means_mm=(*whole, mean_mm), each=self.each, in_last=self.in_last + 1)
        if len(self.means_mm) < MOST_MEANS:
            return Trace(means_mm=(*self.means_mm, value_mm), each=self.each, in_last=1)
        firsts, seconds = self.means_mm[::2], self.means_mm[1::2]
        halved = tuple((one + two) / 2 for one, two in zip(firsts, seconds, strict=True))
        return Trace(means_mm=(*halved, value_mm), each=2 * self.each, in_last=1)

    @property
    def drift_mm(self) -> float | None:
        """The mean of the last quarter less that of the first; None for fewer than eight means."""
        quarter = len(self.means_mm) // 4
        if quarter < 2:
            return None
        first, last = self.means_mm[:quarter], self.means_mm[-quarter:]
        return sum(last) / quarter - sum(first) / quarter
