"""Scores of very many samples at once: for planning by trial, and for the tables of the law.

The same integral as `score`, over one mesh of means for all samples: what depends on mean and
graduation is worked out once, and a sample's likelihood is a sum over its counts.
"""

import math

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.rounded.law.score import WIDE, bin_terms

Counts = NDArray[np.float64]
"""A row a sample: readings on each graduation, the first being its lowest."""

_PIECE = 2_000_000  # numbers in one table of weights
_REACH = 7.5  # of the mesh beyond the outermost graduations, in standard errors of a mean


def count_rows(graduations: NDArray[np.int64]) -> tuple[Counts, NDArray[np.intp]]:
    """The distinct samples of rows of readings, as counts, and which of them each row is."""
    lowest = graduations.min(axis=1, keepdims=True)
    above = graduations - lowest
    rows, width = len(graduations), int(above.max()) + 1
    flat = (above + width * np.arange(rows)[:, None]).ravel()
    counts = np.bincount(flat, minlength=rows * width).reshape(rows, width)
    distinct, which = np.unique(counts, axis=0, return_inverse=True)
    return distinct.astype(np.float64), which.ravel()


def sums_of_squares(counts: Counts) -> NDArray[np.float64]:
    """About each sample's own mean, in squared resolutions."""
    places = np.arange(counts.shape[1])
    n = counts.sum(axis=1)
    first = counts @ places
    return np.asarray(counts @ (places * places) - first * first / n)


def scores(counts: Counts, n: int, sigma: float) -> NDArray[np.float64]:
    """The score of each sample of n readings at a sigma in resolutions, as `score` has it."""
    if sigma >= WIDE:
        return sums_of_squares(counts) / (sigma * sigma + 1.0 / 12.0) - (n - 1)
    step = sigma / math.sqrt(n)
    reach = 0.5 + _REACH * step
    means = np.arange(-reach, counts.shape[1] - 1 + reach + step, step)
    terms = np.array(
        [
            [
                bin_terms((k - 0.5 - m) / sigma, (k + 0.5 - m) / sigma)
                for k in range(counts.shape[1])
            ]
            for m in means.tolist()
        ]
    )
    log_p, pull = terms[:, :, 0].T.copy(), terms[:, :, 1].T.copy()
    piece = max(1, _PIECE // len(means))
    return np.concatenate(
        [
            _averaged(counts[first : first + piece], log_p, pull)
            for first in range(0, len(counts), piece)
        ]
    )


def _averaged(
    counts: Counts, log_p: NDArray[np.float64], pull: NDArray[np.float64]
) -> NDArray[np.float64]:
    values = counts @ log_p
    values -= values.max(axis=1, keepdims=True)
    weights = np.exp(values, out=values)
    return np.asarray((weights * (counts @ pull)).sum(axis=1) / weights.sum(axis=1))
