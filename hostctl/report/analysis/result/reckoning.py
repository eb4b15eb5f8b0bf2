"""The pieces of the reckoning, so that a doubter can do the sums again."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RigOut:
    """The rig taken out as variances. Lengths in mm.

    rig_mm: its likeliest figure, 0 where `rig_bounded`: no more than a bound is known of it.
    rig_larger: its figure is larger than that of both together.
    """

    total_mm: float
    rig_mm: float
    rig_bounded: bool
    rig_larger: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """The sums behind a standard deviation and its interval, rounding ignored.

    squares_mm2: the squared deviations from block means.
    worth: what they are on average, over the variance of one setting, where readings are
    differences of two; None where that is the degrees of freedom.
    chi_square: the quantiles of the interval's low and of its high end.
    rig_out: None where no rig is taken out of a figure.
    """

    squares_mm2: float
    worth: float | None
    chi_square: tuple[float, float]
    rig_out: RigOut | None
