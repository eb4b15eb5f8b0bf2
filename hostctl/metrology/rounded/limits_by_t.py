"""Limits of a mean from the fall of its likelihood, turned into Student's t.

Where readings are points, D, twice the fall of the log-likelihood from its top to the best it can
be at a mean, and Student's t have in common that

    D = n log(1 + t^2 / (n - 1)).

Readings that are intervals are taken to do the same; the likeliest mean may then be anywhere
between two places, and limits are the farther off for it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.confidence_box import MESH, ConfidenceBox, Quantiles, quantiles_at
from hostctl.metrology.basis.distributions import (
    normal_quantile,
    student_t_quantile,
    student_t_sf,
)
from hostctl.metrology.basis.root_finding import close_in
from hostctl.metrology.basis.student_box import student_mesh

_CLOSE = 1e-7
_JUMP = 1e-9  # on the normal scale: how wide a step counts that has no width


def t_of_fall(fall: float, n: int) -> float:
    """Student's t of n readings whose log-likelihood falls by so much."""
    return math.sqrt((n - 1) * math.expm1(2.0 * max(fall, 0.0) / n))


@dataclass(frozen=True)
class LimitsByT:
    """low, high: between which the likeliest mean lies.  error: about its standard error.

    t: Student's t of a mean so far beyond low (side -1) or high (side 1).
    """

    df: int
    low: float
    high: float
    error: float
    t: Callable[[float, float], float]

    def limit(self, risk: float, side: float) -> float:
        """The limit to one side that is wrong with this risk, below a half."""
        wanted = student_t_quantile(1.0 - risk, self.df)
        start = self._start(side)

        def beyond(away: float) -> float:
            return self.t(away, side) - wanted

        here = beyond(0.0)
        if here >= 0.0:
            return start
        low, away = 0.0, max(wanted * self.error, 0.1)
        while (there := beyond(away)) < 0.0:
            low, here, away = away, there, 1.5 * away
        return start + side * close_in(beyond, low, here, away, there, within=_CLOSE)

    def box(self) -> ConfidenceBox:
        """The limits at every risk."""
        below, above = self._walk(-1.0), self._walk(1.0)
        edge, opposite = above[0][0] - _JUMP, below[-1][0] + _JUMP
        wide = self.high > self.low
        at_most = [*below, (opposite, self.high), *above] if wide else [*below, *above]
        at_least = [*below, (edge, self.low), *above] if wide else [*below, *above]
        return ConfidenceBox(upper=_quantiles(at_most), lower=_quantiles(at_least))

    def _start(self, side: float) -> float:
        return self.high if side > 0.0 else self.low

    def _walk(self, side: float) -> list[tuple[float, float]]:
        """Places on the normal scale and means, from the likeliest to one side; rising."""
        start = self._start(side)
        error = max(self.error, 0.3 / math.sqrt(self.df + 1))
        points = []
        for t in student_mesh(self.df)[len(MESH) // 2 :: 2]:
            points.append((self._place(error * t, side), start + side * error * t))
        while abs(points[-1][0]) < MESH[-1]:
            away = 1.5 * abs(points[-1][1] - start)
            points.append((self._place(away, side), start + side * away))
        return points if side > 0.0 else points[::-1]

    def _place(self, away: float, side: float) -> float:
        """On the normal scale."""
        chance = student_t_sf(self.t(away, side), self.df)
        return -side * normal_quantile(max(chance, 1e-14))


def _quantiles(points: Sequence[tuple[float, float]]) -> Quantiles:
    """From places on the normal scale and values, to beyond the last that a box has."""
    places = [place for place, _ in points]
    values = [value for _, value in points]
    return quantiles_at(places, values, values[-1])
