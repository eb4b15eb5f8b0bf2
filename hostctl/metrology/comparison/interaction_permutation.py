"""Operator x method interaction on spread, for rounded and heavily tied readings.

Distances from block medians (see `spread_permutation`) are averaged in each operator x method cell.
If every operator's ratio of methods is the same, the averages are a product of an operator's part
and a method's part. Dividing that product out leaves distances on one scale, which may then be
exchanged between all cells; the share of shuffles that stray as far from a product is the p value.
The scale is estimated, so the test is approximate; its false alarm rate is checked by simulation.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.random_orders import share_as_extreme
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance
from hostctl.metrology.comparison.spread_permutation import median_distances

Cell = tuple[str, str]


def interaction_permutation(
    cells: Mapping[Cell, Sequence[npt.ArrayLike]],
    rng: np.random.Generator,
    shuffles: int = 1999,
) -> Significance | NotYet:
    """Does the ratio of methods' spreads depend on the operator.

    cells: (operator, method) to its blocks. rng: seeded by the caller. Raises NotEnough unless at
    least two operators each used the same two or more methods, and for a block below 3 readings;
    NotYet where an operator's readings with one method are alike in every block.
    Source: Freedman and Lane 1983, J. Business Econ. Stat. 1, 292-298 (permuting what a null model
    leaves), on a multiplicative scale.
    """
    operators = list(dict.fromkeys(operator for operator, _ in cells))
    methods = list(dict.fromkeys(method for _, method in cells))
    if min(len(operators), len(methods)) < 2 or len(cells) != len(operators) * len(methods):
        raise NotEnough(Reason(Why.NOT_THE_SAME_METHODS))
    order = [(operator, method) for operator in operators for method in methods]
    parts = [np.concatenate([median_distances(b) for b in cells[cell]]) for cell in order]
    codes = np.repeat(np.arange(len(order)), [part.size for part in parts])
    shape = (len(operators), len(methods))
    distances = np.concatenate(parts)
    means = _cell_means(distances, codes, shape)
    if not np.all(means > 0.0):
        return NotYet(reason=Reason(Why.CELL_ALIKE))
    scaled = distances / np.exp(_product_fit(np.log(means))).reshape(-1)[codes]
    seen = _straying(scaled, codes, shape)
    p_value, drawn = share_as_extreme(
        lambda: _straying(rng.permutation(scaled), codes, shape), seen, shuffles
    )
    return Significance(
        statistic=seen,
        p_value=p_value,
        df=(),
        n=distances.size,
        how=f"permutation of scaled distances from block medians, {drawn} shuffles",
        source="Freedman and Lane 1983, on a multiplicative scale",
    )


def _cell_means(distances: Array, codes: npt.NDArray[np.intp], shape: tuple[int, int]) -> Array:
    sums = np.bincount(codes, weights=distances)
    means: Array = (sums / np.bincount(codes)).reshape(shape)
    return means


def _product_fit(log_means: Array) -> Array:
    """On logarithms: row mean plus column mean less the grand mean."""
    rows = log_means.mean(axis=1, keepdims=True)
    fitted: Array = rows + log_means.mean(axis=0) - log_means.mean()
    return fitted


def _straying(distances: Array, codes: npt.NDArray[np.intp], shape: tuple[int, int]) -> float:
    means = np.maximum(_cell_means(distances, codes, shape), np.finfo(float).tiny)
    log_means = np.log(means)
    away = log_means - _product_fit(log_means)
    return float(np.sum(np.bincount(codes).reshape(shape) * np.square(away)))
