"""What tests of significance and of equivalence give back; Holm's correction for many of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Significance:
    """A test's statistic and p value. `df` are its degrees of freedom, empty where it has none."""

    statistic: float
    p_value: float
    df: tuple[float, ...]
    n: int
    how: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Equivalence:
    """Is a difference (or a ratio) shown to lie between two bounds.

    `difference`: the estimate with its interval at 1 - 2 alpha. `p_low`, `p_high`: that it lies
    at or beyond the low, the high bound. Both must be at most alpha.
    """

    difference: Estimate
    low: float
    high: float
    p_low: float
    p_high: float
    alpha: float

    @property
    def p_value(self) -> float:
        """The larger of the two."""
        return max(self.p_low, self.p_high)

    @property
    def equivalent(self) -> bool:
        """Whether the data show equivalence; False says only that they don't show it."""
        return self.p_value <= self.alpha


def holm(p_values: Sequence[float]) -> list[float]:
    """p values adjusted for being many: any below alpha stands at family-wise level alpha.

    Source: Holm 1979, Scandinavian Journal of Statistics 6, 65-70. Raises ValueError on a value
    outside 0 to 1.
    """
    for place, p in enumerate(p_values, start=1):
        if not 0.0 <= p <= 1.0:
            raise ValueError(f"p value {place} is {p}, must lie between 0 and 1")
    adjusted = [0.0] * len(p_values)
    running = 0.0
    for rank, index in enumerate(sorted(range(len(p_values)), key=p_values.__getitem__)):
        running = max(running, min(1.0, (len(p_values) - rank) * p_values[index]))
        adjusted[index] = running
    return adjusted
