"""Variance components of unbalanced tables by restricted maximum likelihood.

Rows that share every label form a cell; cell means and the scatter within cells hold all that the
likelihood needs, so the size of the problem is that of the cells. Fisher scoring from the scatter
of the cell means, with halved steps; a component that would fall below zero is held at zero and
freed again if the likelihood rises with it. Intervals: chi-square with degrees of freedom matched
to the variance of the estimate (Satterthwaite), at least one, as two levels have; a component at
zero, or so near it that it is worth less than one degree of freedom, has only an upper limit, from
the fall of the profile likelihood.
Source: Patterson and Thompson 1971, Biometrika 58, 545-554; Searle, Casella, McCulloch 1992,
Variance Components, 6.6 and 8.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, finite_array
from hostctl.metrology.basis.distributions import chi_square_quantile
from hostctl.metrology.basis.estimate import Estimate, Interval, NotEnough
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.components.reml_cells import RemlCells, reml_cells

_MOST_CELLS = 600
_ROUNDS = 200
_DONE = 1e-10
_HOW = "restricted maximum likelihood"
_SOURCE = "Patterson and Thompson 1971, Biometrika 58, 545-554"


@dataclass(frozen=True, slots=True, kw_only=True)
class RemlFit:
    """Variances by effect, the residual (repeatability) last, and what they came from."""

    names: tuple[str, ...]
    variances: tuple[float, ...]
    covariance: Array
    log_likelihood: float
    n: int
    cells: RemlCells

    def variance_of(self, *names: str) -> float:
        """The sum of these effects' variances."""
        return sum(self.variances[self.names.index(name)] for name in names)

    def spread_of(self, *names: str, confidence: float = 0.95) -> Estimate:
        """The standard deviation of these effects together, with its interval."""
        places = [self.names.index(name) for name in names]
        variance = self.variance_of(*names)
        tail = (1.0 - confidence) / 2.0
        df = self._freedom(places, variance)
        if df < 1.0 and len(places) == 1:
            low, high = 0.0, self._upper_from_profile(places[0], 1.0 - tail)
        else:
            low, high = _chi_square_limits(variance, max(df, 1.0), tail)
        return Estimate(
            value=math.sqrt(variance),
            interval=Interval(low=math.sqrt(low), high=math.sqrt(high), confidence=confidence),
            n=self.n,
            how=_HOW,
            source=_SOURCE,
        )

    def _freedom(self, places: list[int], variance: float) -> float:
        """Degrees of freedom of a chi-square law with the variance of this estimate."""
        if variance == 0.0:
            return 0.0
        return 2.0 * variance**2 / float(self.covariance[np.ix_(places, places)].sum())

    def _upper_from_profile(self, place: int, level: float) -> float:
        """The variance at which the likelihood, all else refitted, has fallen enough."""
        fall = chi_square_quantile(2.0 * level - 1.0, 1.0) / 2.0

        def beyond(variance: float) -> bool:
            held = _maximise(self.cells, np.array(self.variances), {place: variance})
            return self.log_likelihood - held[1] > fall

        high = max(self.variances)
        while not beyond(high):
            high *= 4.0
        low = 0.0
        while high - low > 1e-4 * high:
            middle = (low + high) / 2.0
            low, high = (low, middle) if beyond(middle) else (middle, high)
        return high


def reml(values: npt.ArrayLike, effects: Mapping[str, npt.NDArray[np.integer]]) -> RemlFit:
    """Fit one mean and independent normal random effects.

    effects: name to each row's level, numbered; a nested or an interaction effect has a number for
    each combination (`combined_levels`). An effect whose levels are the cells is told from the
    residual only if some cell has two rows. Raises NotEnough for lengths that differ, an effect of
    one level, effects that can't be told apart, above 600 cells, or readings all alike.
    """
    y = finite_array(values, least=3, what="REML")
    cells = reml_cells(y, effects)
    if len(cells.means) > _MOST_CELLS:
        raise NotEnough(Reason(Why.REML_TOO_MANY_CELLS, most=_MOST_CELLS))
    names = (*effects, "residual")
    total = float(np.var(y))
    if total == 0.0:
        raise NotEnough(Reason(Why.REML_ALL_ALIKE))
    if cells.told_exactly:
        raise NotEnough(Reason(Why.REML_TOLD_EXACTLY))
    start = np.full(len(names), total / len(names))
    variances, log_likelihood, information = _maximise(cells, start, {})
    return RemlFit(
        names=names,
        variances=tuple(variances.tolist()),
        covariance=_covariance(information, variances),
        log_likelihood=log_likelihood,
        n=y.size,
        cells=cells,
    )


def _chi_square_limits(variance: float, df: float, tail: float) -> tuple[float, float]:
    return (
        df * variance / chi_square_quantile(1.0 - tail, df),
        df * variance / chi_square_quantile(tail, df),
    )


def combined_levels(
    first: npt.NDArray[np.integer], second: npt.NDArray[np.integer]
) -> npt.NDArray[np.int64]:
    """One number for each combination of two effects' levels."""
    combined: npt.NDArray[np.int64] = first.astype(np.int64) * (int(second.max(initial=0)) + 1)
    return combined + second


def _covariance(information: Array, variances: Array) -> Array:
    """Of the estimates; components at zero count as known."""
    free = variances > 0.0
    inside = information[np.ix_(free, free)]
    if np.linalg.cond(inside) > 1e12:
        raise NotEnough(Reason(Why.REML_NOT_TOLD_APART))
    covariance = np.zeros_like(information)
    covariance[np.ix_(free, free)] = np.linalg.inv(inside)
    return covariance


def _maximise(
    cells: RemlCells, start: Array, held: Mapping[int, float]
) -> tuple[Array, float, Array]:
    """Variances of largest likelihood, some held; with that likelihood and the information."""
    variances = start.copy()
    variances[-1] = max(variances[-1], 1e-6 * float(start.max()))
    for place, value in held.items():
        variances[place] = value
    likelihood = cells.log_likelihood(variances)
    for _ in range(_ROUNDS):
        score, information = cells.score_and_information(variances)
        moved, risen = _step(cells, variances, likelihood, (score, information), held)
        done = risen - likelihood < _DONE * max(1.0, abs(likelihood))
        variances, likelihood = moved, risen
        if done:
            break
    return variances, likelihood, cells.score_and_information(variances)[1]


def _step(
    cells: RemlCells,
    variances: Array,
    likelihood: float,
    slope: tuple[Array, Array],
    held: Mapping[int, float],
) -> tuple[Array, float]:
    """One scoring step, halved until the likelihood does not fall."""
    score, information = slope
    free = (variances > 0.0) | (score > 0.0)
    free[list(held)] = False
    step = np.zeros_like(variances)
    inside = information[np.ix_(free, free)]
    step[free] = np.linalg.lstsq(inside, score[free], rcond=None)[0]
    for _ in range(40):
        moved = np.maximum(variances + step, 0.0)
        # the residual must stay above zero, or the likelihood has no meaning
        moved[-1] = max(moved[-1], 0.1 * variances[-1])
        if len(variances) - 1 in held:
            moved[-1] = variances[-1]
        risen = cells.log_likelihood(moved)
        if risen >= likelihood:
            return moved, risen
        step = step / 2.0
    return variances, likelihood
