"""The likelihood of one constant from observations that are intervals.

An observation says that the constant, with the scatter of that touch in it, lies between two ends:
the last step without contact and the first with it, or two blades, and the rounding of the reading.
With the scatter normal, sigma = 1 / tau, it has the probability Phi(u tau) - Phi(l tau), where u
and l are its ends less the constant (G. Kulldorff, Estimation from Grouped and Partially Grouped
Samples, 1961; intervals may overlap). Its log is concave in tau along the line of one constant, and
its best falls to both sides of the likeliest constant (J. Burridge, Biometrika 68, 1981).
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import fmean, stdev

from hostctl.metrology.basis.confidence_box import ConfidenceBox
from hostctl.metrology.basis.root_finding import close_in
from hostctl.metrology.rounded.likelihood import bin_terms
from hostctl.metrology.rounded.limits_by_t import LimitsByT, t_of_fall

_LEAST_SIGMA = 0.02  # of the widest interval: below it nothing is told any more
_CLOSE = 1e-7


@dataclass(frozen=True)
class Touches:
    """ends: of each observation, in units of about their width."""

    ends: Sequence[tuple[float, float]]

    @cached_property
    def box(self) -> ConfidenceBox:
        """Where the constant may lie by the likelihood."""
        low, high = self._best
        error = stdev(0.5 * (a + b) for a, b in self.ends) / math.sqrt(len(self.ends))
        return LimitsByT(len(self.ends) - 1, low, high, error, self._t).box()

    @cached_property
    def _counted(self) -> Counter[tuple[float, float]]:
        """Touches that say the same are reckoned once."""
        return Counter(self.ends)

    def highest_at(self, constant: float) -> float:
        """The log-likelihood at its top for this constant."""
        return self._sums(constant, self._tau(constant))[0]

    @cached_property
    def _best(self) -> tuple[float, float]:
        """From where to where the likeliest constant lies: in all intervals, or in one place."""
        low, high = max(low for low, _ in self.ends), min(high for _, high in self.ends)
        return (low, high) if low <= high else (self._likeliest, self._likeliest)

    @cached_property
    def _likeliest(self) -> float:
        middles = [0.5 * (low + high) for low, high in self.ends]
        low, high = min(middles), max(middles)

        def miss(constant: float) -> float:
            return -self._sums(constant, self._tau(constant))[2]

        return close_in(miss, low, miss(low), high, miss(high), within=_CLOSE)

    @cached_property
    def _top(self) -> float:
        low, high = self._best
        return self.highest_at(0.5 * (low + high))

    def _t(self, away: float, side: float) -> float:
        """Student's t of the constant so far to one side of the likeliest."""
        constant = self._best[1 if side > 0.0 else 0] + side * away
        return t_of_fall(self._top - self.highest_at(constant), len(self.ends))

    def _tau(self, constant: float) -> float:
        """The likeliest for this constant."""
        most = 1.0 / (_LEAST_SIGMA * max(high - low for low, high in self.ends))

        def miss(tau: float) -> float:
            return -self._sums(constant, tau)[1]

        if (there := miss(most)) <= 0.0:
            return most
        farthest = max(max(abs(low - constant), abs(high - constant)) for low, high in self.ends)
        least = min(0.5 / farthest, 0.5 * most)
        return close_in(miss, least, miss(least), most, there, within=_CLOSE)

    def _sums(self, constant: float, tau: float) -> tuple[float, float, float]:
        """The log-likelihood, and how it rises with tau and with the constant."""
        value = by_tau = by_constant = 0.0
        for (low, high), count in self._counted.items():
            low, high = low - constant, high - constant
            log_p, at_low, at_high, difference = bin_terms(low * tau, high * tau)
            value += count * log_p
            by_tau += count * (high * at_high - low * at_low)
            by_constant += count * tau * difference
        return value, by_tau, by_constant


def mean_of_lows_and_highs(ends: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """Both means, and the standard error of the one that scatters more."""
    lows, highs = [low for low, _ in ends], [high for _, high in ends]
    error = max(stdev(lows), stdev(highs)) / math.sqrt(len(ends))
    return fmean(lows), fmean(highs), error
