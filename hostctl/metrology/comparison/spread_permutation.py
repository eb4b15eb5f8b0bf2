"""A permutation test of spread for heavily tied, rounded readings.

Each reading becomes its distance from the median of its block, so that different zeros do not
matter. One structural zero of each block of odd size is left out (the median's own distance, always
zero; Hines and Hines 2000, Biometrics 56, 451-454) and distances are brought to a common scale for
the block's size. If the methods scatter alike, these distances may be exchanged between the methods
within a stratum (one operator at one point), and only there: strata may differ as they like. Ties
need no correction, since the reference law is that of the very same distances.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hostctl.metrology.basis.centred import Array, finite_array
from hostctl.metrology.basis.estimate import NotEnough, NotYet
from hostctl.metrology.basis.random_orders import share_as_extreme
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.basis.significance import Significance


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Readings that share one zero: their method, and the stratum they may be exchanged in."""

    method: Hashable
    stratum: Hashable
    values: npt.ArrayLike


def median_distances(values: npt.ArrayLike) -> Array:
    """Distances from the median, without the structural zero, scaled for the block's size.

    Raises NotEnough below 3 readings. The scale sqrt(n / (n - 1)) is that of distances from a mean.
    """
    sample = finite_array(values, least=3, what="a block")
    distances = np.sort(np.abs(sample - np.median(sample)))
    if sample.size % 2:
        distances = distances[1:]
    scaled: Array = distances * math.sqrt(sample.size / (sample.size - 1.0))
    return scaled


def spread_permutation_test(
    blocks: Sequence[Block], rng: np.random.Generator, shuffles: int = 1999
) -> Significance | NotYet:
    """Do the methods scatter alike. The statistic is the sum of squares between methods.

    rng: seeded by the caller. shuffles: the most that are drawn. Raises NotEnough for fewer than
    two methods, no stratum in which two meet, or a block below 3 readings; NotYet where all
    readings of every block are alike.
    Source: Good 2005, Permutation, Parametric and Bootstrap Tests, 3.
    """
    methods = list(dict.fromkeys(block.method for block in blocks))
    strata = _strata(blocks, methods)
    if not any(np.unique(codes).size > 1 for codes, _ in strata):
        raise NotEnough(Reason(Why.NO_METHODS_TO_COMPARE))
    if not any(np.any(distances > 0.0) for _, distances in strata):
        return NotYet(reason=Reason(Why.NO_SPREAD_TO_COMPARE))
    seen = _between(strata, len(methods))
    p_value, drawn = share_as_extreme(
        lambda: _between(_shuffled(strata, rng), len(methods)), seen, shuffles
    )
    return Significance(
        statistic=seen,
        p_value=p_value,
        df=(),
        n=sum(distances.size for _, distances in strata),
        how=f"permutation of distances from block medians, {drawn} shuffles within strata",
        source="Good 2005, 3; Hines and Hines 2000, Biometrics 56, 451-454",
    )


_Stratum = tuple[npt.NDArray[np.int64], Array]


def _strata(blocks: Sequence[Block], methods: list[Hashable]) -> list[_Stratum]:
    gathered: dict[Hashable, list[_Stratum]] = {}
    for block in blocks:
        distances = median_distances(block.values)
        codes = np.full(distances.size, methods.index(block.method), dtype=np.int64)
        gathered.setdefault(block.stratum, []).append((codes, distances))
    return [
        (np.concatenate([codes for codes, _ in parts]), np.concatenate([d for _, d in parts]))
        for parts in gathered.values()
    ]


def _shuffled(strata: list[_Stratum], rng: np.random.Generator) -> list[_Stratum]:
    return [(codes, rng.permutation(distances)) for codes, distances in strata]


def _between(strata: list[_Stratum], methods: int) -> float:
    """Each stratum's distances about its own mean, then the sum of squares between methods."""
    codes = np.concatenate([codes for codes, _ in strata])
    away = np.concatenate([distances - distances.mean() for _, distances in strata])
    sums = np.bincount(codes, weights=away, minlength=methods)
    return float(np.sum(np.square(sums) / np.bincount(codes, minlength=methods)))
