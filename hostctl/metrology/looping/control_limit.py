"""Has a touch left what the loop's first touches foretell: one false stop in a hundred loops.

The first touches, BASELINE of them, give a mean and a standard deviation s. Each of the M touches
after them is held against the centre ± t s sqrt(1 + 1/m), m the baseline's number and t Student's
for a two-sided risk of 0.01 / M on m - 1 degrees of freedom: a prediction limit (ISO 16269-8:2004,
from memory), the risk shared by Bonferroni, so that of a hundred such loops without a change one at
most is stopped. Three sigma would stop nearly each: 27 of 10,000 touches lie beyond.

The centre starts at the baseline's mean and follows by 1/m of each touch's distance (an
exponentially weighted mean, e-Handbook 6.3.2.4). Its variance stays within s^2 / m, and it doesn't
depend on s, so the risk is no larger; and a slow drift is followed and never mistaken for a jump.
That it drifted is a signal of its own: `moved`, where the centre has left the baseline's mean
by more than chance explains, at the same risk, which by itself stops nothing.

Readings are rounded: s is never below h / sqrt(12), and a touch counts as the nearest value that it
may have been, half a graduation nearer.
"""

import math
from dataclasses import dataclass

from hostctl.metrology.basis.distributions import student_t_quantile
from hostctl.metrology.looping.grid_sums import GridSums, check_number

BASELINE = 50
FALSE_STOPS = 0.01
"""Of loops in which nothing changes, what share is stopped at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitCheck:
    """One touch against the limits, in the unit of the readings.

    beyond: left what was foretold: stop.  moved: the centre has drifted away from the baseline's.
    """

    value: float
    centre: float
    lower: float
    upper: float
    beyond: bool
    moved: bool


class ControlLimit:
    """Told of each touch in order. The first `baseline` of them are judged by nothing."""

    def __init__(self, *, most: int, resolution: float, baseline: int = BASELINE) -> None:
        """most: touches in the whole loop.  resolution: what readings are rounded to.

        Raises ValueError for a baseline of fewer than 2.
        """
        if baseline < 2:
            raise ValueError(f"a baseline of {baseline} touches has no spread; 2 at least")
        self.baseline = baseline
        self._sums = GridSums(resolution)
        self._mean = self._centre = 0.0
        self._reach = self._drifts = 0.0
        self._judged = 0
        risk = FALSE_STOPS / max(most - baseline, 1)
        self.t = student_t_quantile(1.0 - risk / 2.0, baseline - 1)

    def add(self, value: float) -> LimitCheck | None:
        """One more touch; None while the baseline is being taken. NotEnough for no number."""
        if self._sums.n < self.baseline:
            self._sums.add(value)
            if self._sums.n == self.baseline:
                self._set_limits()
            return None
        self._judged += 1
        check_number(value, self.baseline + self._judged)
        at = value - self._sums.start
        away = at - self._centre
        found = LimitCheck(
            value=value,
            centre=self._sums.start + self._centre,
            lower=self._sums.start + self._centre - self._reach,
            upper=self._sums.start + self._centre + self._reach,
            beyond=abs(away) > self._reach,
            moved=abs(self._centre - self._mean) > self._drifts,
        )
        if not found.beyond:
            self._centre += away / self.baseline
        return found

    def _set_limits(self) -> None:
        m, h = self.baseline, self._sums.resolution
        variance = max(self._sums.about_mean / (m - 1), 1.0 / 12.0)
        s = h * math.sqrt(variance)
        self._mean = self._centre = h * self._sums.mean
        self._reach = self.t * s * math.sqrt(1.0 + 1.0 / m) + h / 2.0
        self._drifts = self.t * s * math.sqrt(1.0 / m + 1.0 / (2 * m - 1)) + h / 2.0
