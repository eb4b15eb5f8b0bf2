"""What a block's readings are relative to, and how much they say about the spread of a setting."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from hostctl.metrology.basis.estimate import Readings, is_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

Reference = Literal["first", "previous", "datum"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFreedom:
    """How the sum of squared deviations S from the block means is distributed.

    S / sigma^2 is about `scale` times a chi-square on `df` degrees of freedom, where sigma is the
    standard deviation of one value fitted: a setting, or with `previous` a difference.
    readings: the values fitted.  settings: how many settings of the gap they came from.
    about_zero: whether their true mean is 0, amid a graduation, as that of differences is.
    """

    readings: int
    settings: int
    df: float
    scale: float
    about_zero: bool


def settings_of(readings: Readings, reference: Reference) -> Readings:
    """The values whose spread is wanted: with `first`, the block's own zero counts as one."""
    if reference != "first":
        return readings
    if is_array(readings):
        import numpy as np

        with_zero: NDArray[np.float64] = np.concatenate(([0.0], readings))
        return with_zero
    return [0.0, *readings]


def spread_freedom(sizes: Sequence[int], reference: Reference) -> SpreadFreedom:
    """The degrees of freedom of blocks with so many values each, at least 2, each its own mean.

    Differences of neighbouring settings are correlated by -1/2, so n of them hold less than n - 1
    degrees of freedom. With T their covariance over that of one setting (2 on the diagonal, -1
    beside it) and M = I - 11'/n, S has the mean tr(MT) and the variance 2 tr(MTMT); a scaled
    chi-square with both has df = tr(MT)^2 / tr(MTMT) (F. E. Satterthwaite, Biometrics 2, 1946).
    For a single block it is 1 at n = 2, 1.88 at 3, 6.80 at 10, and 2 n / 3 at length.
    """
    n = sum(sizes)
    if reference != "previous":
        df = float(n - len(sizes))
        return SpreadFreedom(readings=n, settings=n, df=df, scale=1.0, about_zero=False)
    mean = sum(size - 1.0 / size for size in sizes)
    half_variance = sum(1.5 * size - 0.5 - 1.0 / size + 1.0 / size**2 for size in sizes)
    df = mean**2 / half_variance
    return SpreadFreedom(
        readings=n, settings=n + len(sizes), df=df, scale=mean / df, about_zero=True
    )
