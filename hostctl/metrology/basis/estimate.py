"""What the maths gives back: a number with its interval and its n, or the reason there is none."""

import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, TypeGuard

from hostctl.metrology.basis.reason import Reason, Why

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Readings: TypeAlias = "Sequence[float] | NDArray[np.float64]"
"""Numbers in one unit: a list, or an array where there are many."""


class NotEnough(ValueError):
    """The data can't support the figure that was asked for; `reason` says why."""

    def __init__(self, reason: Reason) -> None:
        super().__init__(str(reason))
        self.reason = reason


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

    reason: Reason
    needs_n: int | None = None


def is_array(values: object) -> TypeGuard["NDArray[np.float64]"]:
    """Whether these are a numpy array; numpy is not imported to find out."""
    numpy = sys.modules.get("numpy")
    return numpy is not None and isinstance(values, numpy.ndarray)


def finite_sample(values: Iterable[float], *, least: int, what: str) -> list[float]:
    """The values as floats, checked: at least `least` of them, every one finite.

    Raises NotEnough; `what` names the sample in its reason.
    """
    sample = values.tolist() if is_array(values) else list(map(float, values))
    if not all(map(math.isfinite, sample)):
        bad = next(index for index, value in enumerate(sample) if not math.isfinite(value))
        raise NotEnough(Reason(Why.NOT_A_NUMBER, what=what, place=bad + 1, value=sample[bad]))
    if len(sample) < least:
        raise NotEnough(Reason(Why.TOO_FEW, what=what, given=len(sample), least=least))
    return sample
