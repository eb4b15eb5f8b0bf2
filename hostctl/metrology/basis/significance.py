"""What a test of significance gives back."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Significance:
    """A test's statistic and p value. `df` are its degrees of freedom, empty where it has none."""

    statistic: float
    p_value: float
    df: tuple[float, ...]
    n: int
    how: str
    source: str
