"""The restricted likelihood of a table of cells, with its slope and expected information."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.basis.reason import Reason, Why

_NOTHING = 1e-20  # of the scatter of all readings: what rounding in the last digit leaves


@dataclass(frozen=True, slots=True, kw_only=True)
class RemlCells:
    """Cell means, the rows behind each, the scatter within cells, and which cells share a level.

    `alike`: one matrix an effect, 1 where two cells share its level; last the diagonal 1 / count,
    which is what the residual adds to the cells' covariance.
    """

    means: Array
    counts: Array
    within_ss: float
    alike: tuple[Array, ...]

    @property
    def within_df(self) -> float:
        """Degrees of freedom within cells."""
        return float(self.counts.sum()) - len(self.counts)

    @property
    def told_exactly(self) -> bool:
        """Whether the effects leave nothing for the residual: its likelihood then has no top."""
        scatter = float(np.sum(self.counts * np.square(self.means)))
        if self.within_ss > _NOTHING * scatter:
            return False
        levels = np.column_stack([np.ones_like(self.means), *self.alike[:-1]])
        fitted = levels @ np.linalg.lstsq(levels, self.means, rcond=None)[0]
        left = float(np.sum(self.counts * np.square(self.means - fitted)))
        return left <= _NOTHING * scatter

    def log_likelihood(self, variances: Array) -> float:
        """Restricted log-likelihood, up to a constant that depends only on the table."""
        try:
            lower = np.linalg.cholesky(self._covariance(variances))
        except np.linalg.LinAlgError:
            return -math.inf
        ones = np.linalg.solve(lower, np.ones_like(self.means))
        y = np.linalg.solve(lower, self.means)
        weight = float(np.sum(ones * ones))
        rest = y - ones * (float(np.sum(ones * y)) / weight)
        residual = float(variances[-1])
        within = self.within_df * math.log(residual) + self.within_ss / residual
        log_det = 2.0 * float(np.sum(np.log(np.diag(lower))))
        return -0.5 * (log_det + math.log(weight) + float(np.sum(rest * rest)) + within)

    def score_and_information(self, variances: Array) -> tuple[Array, Array]:
        """The slope of the log-likelihood, and its expected curvature."""
        inverse = np.linalg.inv(self._covariance(variances))
        ones = inverse.sum(axis=1)
        projection = inverse - np.outer(ones, ones) / ones.sum()
        y = projection @ self.means
        products = [projection @ alike for alike in self.alike]
        score = np.array(
            [0.5 * (y @ a @ y - np.trace(p)) for a, p in zip(self.alike, products, strict=True)]
        )
        information = np.array([[0.5 * np.sum(p * q.T) for q in products] for p in products])
        residual = float(variances[-1])
        score[-1] += 0.5 * (self.within_ss / residual - self.within_df) / residual
        information[-1, -1] += 0.5 * self.within_df / residual**2
        return score, information

    def _covariance(self, variances: Array) -> Array:
        total = np.zeros_like(self.alike[0])
        for variance, alike in zip(variances, self.alike, strict=True):
            total += variance * alike
        return total


def reml_cells(y: Array, effects: Mapping[str, npt.NDArray[np.integer]]) -> RemlCells:
    """Boil rows down to the cells formed by all effects' levels together.

    Raises ValueError for no effect or lengths that differ, NotEnough for an effect of one level.
    """
    for name, levels in effects.items():
        if levels.size != y.size:
            raise ValueError(f"REML: {name} has {levels.size} levels for {y.size} readings")
        if levels.min() == levels.max():
            raise NotEnough(Reason(Why.REML_ONE_LEVEL, effect=name))
    if not effects:
        raise ValueError("REML: no effect given")
    labels = np.column_stack(list(effects.values()))
    unique, cell = np.unique(labels, axis=0, return_inverse=True)
    cell = cell.reshape(-1)
    counts = np.bincount(cell).astype(np.float64)
    away = y - y.mean()
    means = np.bincount(cell, weights=away) / counts
    alike = [(column[:, None] == column[None, :]).astype(np.float64) for column in unique.T]
    return RemlCells(
        means=means,
        counts=counts,
        within_ss=float(np.sum(np.square(away - means[cell]))),
        alike=(*alike, np.diag(1.0 / counts)),
    )
