"""Does the order of a loop's touches show: a straight drift, levels that differ, like neighbours.

Three tests at each look, each at LEVEL, two-sided where it has sides, on readings as read:

- the slope over the order by least squares, by Student's t on n - 2 degrees of freedom;
- 8 to 15 stretches of equal length compared by their means (one-way analysis of variance), which
  sees a warm-up or a wave that no straight line fits;
- lag-1 autocorrelation against ± z / sqrt(n) about -1 / n (e-Handbook 1.3.5.12).

Rounding leaves a variance of h^2 / 12 at the least, so that touches nearly all alike seem no surer.
"""

import math

from hostctl.metrology.basis.distributions import f_sf, normal_quantile, student_t_sf
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.looping.grid_sums import GridSums

LEVEL = 0.01
_OF_ROUNDING = 1.0 / 12.0
_MOST_STRETCHES = 16
_LEAST = 10  # touches


class Stretches:
    """Sums over stretches of equal length: when there are 16, neighbours are put together."""

    def __init__(self) -> None:
        self.length = 1
        self.totals: list[int] = []
        self.open_total = self.open_count = 0

    def add(self, k: int) -> None:
        """One more touch, in graduations."""
        self.open_total += k
        self.open_count += 1
        if self.open_count < self.length:
            return
        self.totals.append(self.open_total)
        self.open_total = self.open_count = 0
        if len(self.totals) == _MOST_STRETCHES:
            pairs = zip(self.totals[::2], self.totals[1::2], strict=True)
            self.totals, self.length = [a + b for a, b in pairs], 2 * self.length


def order_shows(sums: GridSums, stretches: Stretches) -> Reason | None:
    """Why these touches may not be taken for independent ones of one level; None: nothing shows."""
    if sums.n < _LEAST:
        return None
    slope, p_slope = _slope(sums)
    p_drift = min(p_slope, _p_of_levels(sums, stretches))
    if p_drift <= LEVEL:
        moved = slope * (sums.n - 1) * sums.resolution
        return Reason(Why.LOOP_DRIFTS, touches=sums.n, moved=moved, p=p_drift)
    band = normal_quantile(1.0 - LEVEL / 2.0) / math.sqrt(sums.n)
    if sums.about_mean and abs(sums.neighbours + 1.0 / sums.n) > band:
        return Reason(Why.NEIGHBOURS_ALIKE, touches=sums.n, likeness=sums.neighbours, band=band)
    return None


def _slope(sums: GridSums) -> tuple[float, float]:
    """Graduations per touch, and how rarely none would seem as much."""
    n = sums.n
    across = n * (n * n - 1) / 12.0
    slope = sums.along / across
    rest = max((sums.about_mean - slope * sums.along) / (n - 2), _OF_ROUNDING)
    return slope, 2.0 * student_t_sf(abs(slope) * math.sqrt(across / rest), n - 2)


def _p_of_levels(sums: GridSums, stretches: Stretches) -> float:
    many, length = len(stretches.totals), stretches.length
    if many < 8 or length < 2:
        return 1.0
    n, total = many * length, sum(stretches.totals)
    between = (many * sum(t * t for t in stretches.totals) - total * total) / n
    within = max((sums.about_mean - between) / (sums.n - many), _OF_ROUNDING)
    return f_sf(between / (many - 1) / within, many - 1, sums.n - many)
