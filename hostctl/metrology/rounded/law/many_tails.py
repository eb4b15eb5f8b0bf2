"""The tails of `tails` for very many studies at once: for planning by trial, and to prove what is
promised.

All studies are alike in shape: so many blocks of so many values. Each distinct block is worked out
once, and the shifted gamma laws are read from a fine mesh of their own.
"""

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.distributions import normal_quantile
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.rounded.law.many_samples import count_rows, scores, sums_of_squares
from hostctl.metrology.rounded.law.moments import (
    PLACES,
    SAME_EVERYWHERE,
    Moments,
    block_moments,
    frames_at,
)
from hostctl.metrology.rounded.law.score import WIDE, bin_terms
from hostctl.metrology.rounded.law.tails import STILL, gamma_law, lumps_of

Floats = NDArray[np.float64]

_MESH = 97
_FARTHEST = 8.7  # of the mesh, in standard deviations of a cube root
_REACH = 6.0

_PIECE = 4_000_000


class ManyStudies:
    """Studies of the same shape. graduations: by study, block and value, whole numbers."""

    def __init__(self, graduations: NDArray[np.int64], reference: Reference) -> None:
        studies, self.blocks, self.n = graduations.shape
        self._reference = reference
        self._counts, which = count_rows(graduations.reshape(studies * self.blocks, self.n))
        self._which = which.reshape(studies, self.blocks)

    def tails(self, sigma: float) -> tuple[Floats, Floats]:
        """For each study the chances of one as close, and as wide, at sigma resolutions."""
        found = scores(self._counts, self.n, sigma)[self._which].sum(axis=1)
        chances = self._pattern_chances(sigma)
        narrow, wide = np.zeros(len(found)), np.zeros(len(found))
        for frame in frames_at(self._reference, sigma):
            lumps = lumps_of(frame, sigma, self.n * self.blocks)
            for place, moments in enumerate(block_moments(frame, self.n, sigma)):
                chance = chances[min(place, len(chances) - 1)]
                below, above = _gamma_laws(found, moments * self.blocks)
                below += lumps.pattern * chance
                above += chance
                closer = np.maximum(lumps.neighbours * below, chance)
                if lumps.exact_when_alike:
                    closer = np.where(self._alike, chance, closer)
                narrow = np.maximum(narrow, closer)
                wide = np.maximum(wide, lumps.neighbours * above)
        return np.minimum(narrow, 1.0), np.minimum(wide, 1.0)

    def _pattern_chances(self, sigma: float) -> list[Floats]:
        """Of each study's very blocks, shifted, mirrored or in another order, at each place."""
        places = PLACES if sigma <= SAME_EVERYWHERE else PLACES[2:3]
        width = self._counts.shape[1]
        reach = math.ceil(_REACH * sigma / math.sqrt(self.n) + 1.0)
        found = []
        for place in places:
            logs = self._log_sums_of_shifts(place, sigma, width, reach)
            if place > 0.0:
                mirror = self._log_sums_of_shifts(-place, sigma, width, reach)
                logs = np.where(self._mirrored, np.logaddexp(logs, mirror), logs)
            else:
                logs = np.where(self._mirrored, logs + math.log(2.0), logs)
            logs = logs + self._orders
            total = np.minimum(logs, 0.0)[self._which].sum(axis=1) + self._arrangements
            found.append(np.exp(np.minimum(total, 0.0)))
        return found

    def _log_sums_of_shifts(self, place: float, sigma: float, width: int, reach: int) -> Floats:
        if sigma >= WIDE:
            return self._at_means(sigma) + math.log(sigma * math.sqrt(2.0 * math.pi / self.n))
        means = [k + place for k in range(-reach, width + reach)]
        log_p = np.array(
            [
                [bin_terms((k - 0.5 - m) / sigma, (k + 0.5 - m) / sigma)[0] for m in means]
                for k in range(width)
            ]
        )
        rows = max(1, _PIECE // len(means))
        return np.concatenate(
            [
                _log_sum(self._counts[first : first + rows] @ log_p)
                for first in range(0, len(self._counts), rows)
            ]
        )

    def _at_means(self, sigma: float) -> Floats:
        """The log likelihood of each distinct block at its own mean, from WIDE up."""
        squares = sums_of_squares(self._counts)
        density = -0.5 * math.log(2.0 * math.pi * (sigma * sigma + 1.0 / 12.0))
        return np.asarray(self.n * density - 0.5 * squares / (sigma * sigma + 1.0 / 12.0))

    @cached_property
    def _orders(self) -> Floats:
        logs = np.array([math.lgamma(k + 1) for k in range(self.n + 1)])
        return np.asarray(logs[self.n] - logs[self._counts.astype(np.intp)].sum(axis=1))

    @cached_property
    def _mirror_images(self) -> NDArray[np.float64]:
        width = self._counts.shape[1]
        last = width - 1 - (self._counts[:, ::-1] > 0).argmax(axis=1)
        places = last[:, None] - np.arange(width)[None, :]
        taken = np.take_along_axis(self._counts, np.maximum(places, 0), axis=1)
        return np.where(places >= 0, taken, 0.0)

    @cached_property
    def _mirrored(self) -> NDArray[np.bool_]:
        """Whether the mirror image is another pattern."""
        return np.asarray((self._mirror_images != self._counts).any(axis=1))

    @cached_property
    def _alike(self) -> NDArray[np.bool_]:
        """Whether each block of a study is all on one graduation."""
        one_graduation = (self._counts > 0).sum(axis=1) == 1
        return np.asarray(one_graduation[self._which].all(axis=1))

    @cached_property
    def _arrangements(self) -> Floats:
        """The logarithm of in how many orders the blocks of each study can come."""
        if self.blocks == 1:
            return np.zeros(len(self._which))
        both = np.concatenate([self._counts, self._mirror_images])
        _, ids = np.unique(both, axis=0, return_inverse=True)
        half = len(self._counts)
        shape = np.minimum(ids.ravel()[:half], ids.ravel()[half:])
        rows = np.sort(shape[self._which], axis=1)
        total = np.full(len(rows), math.lgamma(self.blocks + 1))
        run = np.ones(len(rows))
        for block in range(1, self.blocks):
            same = rows[:, block] == rows[:, block - 1]
            run = np.where(same, run + 1.0, 1.0)
            total -= np.log(run)  # the factorial of each run, factor by factor
        return total


def _log_sum(logs: Floats) -> Floats:
    """Of each row: of many readings the sum itself would be too small for a number."""
    top = logs.max(axis=1)
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).sum(axis=1)))


def _gamma_laws(values: Floats, moments: Moments) -> tuple[Floats, Floats]:
    """`gamma_law` of each value: of each distinct one where they are few, else from a mesh.

    Against the cube root of the distance from where the law begins, a gamma law is close to
    straight on the normal scale (E. B. Wilson, M. M. Hilferty, 1931).
    """
    distinct, which = np.unique(values, return_inverse=True)
    smooth = moments.third != 0.0 and moments.variance >= STILL
    if len(distinct) > _MESH and smooth:
        begin = moments.mean - 2.0 * moments.variance**2 / moments.third
        side = math.copysign(1.0, moments.third)
        roots = np.cbrt(np.maximum(side * (values - begin), 0.0))
        mesh = _reached(np.linspace(*_root_range(moments), _MESH), roots)
        scale = _scale((begin + side * mesh**3).tolist(), moments)
        z = np.where(roots > 0.0, np.interp(roots, mesh, scale), -side * _FARTHEST)
    else:
        laws = np.array([gamma_law(value, moments) for value in distinct.tolist()])
        below, above = laws[which.ravel()].T
        return below, above
    return _normal_cdf(z), _normal_cdf(-z)


def _reached(mesh: Floats, values: Floats) -> Floats:
    """The part of a mesh that the values lie in."""
    first = max(int(np.searchsorted(mesh, values.min(), side="right")) - 1, 0)
    return mesh[first : int(np.searchsorted(mesh, values.max())) + 1]


def _root_range(moments: Moments) -> tuple[float, float]:
    """Cube roots from end to end of what such a law gives, by its normal approximation."""
    middle = math.cbrt(2.0 * moments.variance**2 / abs(moments.third))
    spread = abs(moments.third) / (6.0 * moments.variance**1.5)
    bottom = middle * (1.0 - spread * spread - _FARTHEST * spread)
    return max(bottom, 0.0), middle * (1.0 + _FARTHEST * spread)


def _scale(values: list[float], moments: Moments) -> Floats:
    """Where each value is on the normal scale."""
    found = []
    for value in values:
        below, above = gamma_law(value, moments)
        least = max(min(below, above), 1e-18)
        z = normal_quantile(least) if least < 0.5 else 0.0
        found.append(z if below < above else -z)
    return np.array(found)


def _normal_cdf(z: Floats) -> Floats:
    """From a fine mesh too: numpy has no error function."""
    return np.asarray(np.interp(z, _Z, _CDF))


_Z = np.linspace(-9.0, 9.0, 36_001)
_CDF = np.array([0.5 * math.erfc(-z / math.sqrt(2.0)) for z in _Z.tolist()])
