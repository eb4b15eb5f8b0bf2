"""What the maths gives back: a number with its interval and its n, or the reason there is none."""

import math
from dataclasses import dataclass


class NotEnough(ValueError):
    """The data can't support the figure that was asked for. The message says why, for a user."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Where a quantity may lie. An open end is `-inf` or `inf`, never a stand-in number."""

    low: float
    high: float
    confidence: float

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number that was measured: its value, where the truth may lie, and from how many.

    `how` names the method in a few words; `source` the standard, clause or paper it follows.
    """

    value: float
    interval: Interval
    n: int
    how: str
    source: str

    @property
    def low(self) -> float:
        """Lower end of the interval."""
        return self.interval.low

    @property
    def high(self) -> float:
        """Upper end of the interval."""
        return self.interval.high


@dataclass(frozen=True, slots=True, kw_only=True)
class NotYet:
    """A number that can't be had from these data: why, and from how many readings it could be."""

    reason: str
    needs_n: int | None = None


def finite_sample(values: object, *, least: int, what: str) -> list[float]:
    """The values as floats, checked: at least `least` of them, every one finite.

    Raises NotEnough with a sentence for the user. `what` names the sample in that sentence.
    """
    sample = [float(value) for value in values]  # type: ignore[attr-defined]  # any iterable
    bad = [index for index, value in enumerate(sample) if not math.isfinite(value)]
    if bad:
        raise NotEnough(f"{what}: value {bad[0] + 1} is {sample[bad[0]]}, not a number")
    if len(sample) < least:
        raise NotEnough(f"{what}: {len(sample)} given, at least {least} are needed")
    return sample
