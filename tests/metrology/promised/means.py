"""The mean of readings from a datum, and the difference of two: their intervals, and "differ".

By the product's own functions; samples that are alike but for where they lie are worked out once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.confidence_box import ConfidenceBox, chance_difference_above
from hostctl.metrology.basis.estimate import Interval
from hostctl.metrology.comparison.mean_difference import mean_difference
from hostctl.metrology.rounded.mean import MeanEvidence, mean_of_readings
from promised.cells import Floats, Found, Places
from promised.studies import ONE_PLACE, Place

_CONFIDENCE = 0.95
_END = 0.025
_AMID, _BETWEEN, _EDGE = (0.0,), (0.25,), (0.4999,)

Sample = tuple[int, ...]
"""Readings above the lowest of them, in graduations, rising."""


@dataclass(frozen=True, slots=True)
class _Readings:
    """Of many studies. lowest: of each; truth: the mean of settings, above that."""

    rows: NDArray[np.int64]
    truth: Floats

    @property
    def lowest(self) -> NDArray[np.int64]:
        return np.asarray(self.rows.min(axis=1))

    @property
    def samples(self) -> list[Sample]:
        above = np.sort(self.rows - self.lowest[:, None], axis=1)
        return [tuple(row) for row in above.tolist()]

    @property
    def above_lowest(self) -> Floats:
        return np.asarray(self.truth - self.lowest)

    def evidence(self, i: int) -> MeanEvidence:
        return mean_of_readings(self.rows[i].astype(float).tolist(), resolution=1.0)


@dataclass(frozen=True, slots=True)
class MeanCell:
    """One block of n readings."""

    n: int
    sigma: float

    @property
    def label(self) -> tuple[str, ...]:
        """Size and sigma."""
        return (str(self.n), f"{self.sigma:g}")

    @property
    def places(self) -> Sequence[Places]:
        """Of its mean."""
        return [(place,) for place in ONE_PLACE]

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """Wrong where the truth lies outside."""
        read = _read(rng, self.n, self.sigma, [place for (place,) in places])
        inside = [
            float(truth in _interval(sample))
            for sample, truth in zip(read.samples, read.above_lowest.tolist(), strict=True)
        ]

        def product(i: int) -> Mapping[str, bool]:
            return {"interval": read.truth[i] not in read.evidence(i).interval(_CONFIDENCE)}

        return Found({"interval": [(np.array(inside), 0.5)]}, product)


@dataclass(frozen=True, slots=True)
class DifferenceCell:
    """Two blocks; sigmas: of either.  Their means are one and the same."""

    sizes: tuple[int, int]
    sigmas: tuple[float, float]

    @property
    def label(self) -> tuple[str, ...]:
        """Sizes and sigmas."""
        return (
            " : ".join(map(str, self.sizes)),
            " : ".join(f"{sigma:g}" for sigma in self.sigmas),
        )

    @property
    def places(self) -> Sequence[Places]:
        """Of both means."""
        return [(place,) for place in (_AMID, _BETWEEN, _EDGE)]

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """Chances as `comparison.mean_difference` has them, at the true difference, none."""
        at = [place for (place,) in places]
        first = _read(rng, self.sizes[0], self.sigmas[0], at)
        second = _read(rng, self.sizes[1], self.sigmas[1], at, first.truth)
        apart = (second.lowest - first.lowest).tolist()
        boxes = list(zip(map(_box, first.samples), map(_box, second.samples), apart, strict=True))
        above = [chance_difference_above(one.upper, other.lower, gap) for one, other, gap in boxes]
        below = [
            1.0 - chance_difference_above(one.lower, other.upper, gap) for one, other, gap in boxes
        ]
        ends = [(np.array(above), _END), (np.array(below), _END)]

        def product(i: int) -> Mapping[str, bool]:
            found = mean_difference(first.evidence(i).box, second.evidence(i).box)
            return {"interval": 0.0 not in found.interval, "differ": found.differs}

        return Found({"interval": ends, "differ": ends}, product)


def _read(
    rng: np.random.Generator,
    n: int,
    sigma: float,
    places: Sequence[Place],
    truth: Floats | None = None,
) -> _Readings:
    """truth: the means, where they are to be those of others."""
    if truth is None:
        truth = np.array([rng.uniform(-0.5, 0.5) if at is None else at[0] for at in places])
    settings = sigma * rng.standard_normal((len(places), n)) + truth[:, None]
    return _Readings(np.rint(settings).astype(np.int64), truth)


@lru_cache(maxsize=100_000)
def _interval(sample: Sample) -> Interval:
    return mean_of_readings([float(v) for v in sample], resolution=1.0).interval(_CONFIDENCE)


@lru_cache(maxsize=100_000)
def _box(sample: Sample) -> ConfidenceBox:
    return mean_of_readings([float(v) for v in sample], resolution=1.0).box


MEANS = [
    MeanCell(n, sigma) for n in (2, 3, 5, 10, 30, 100) for sigma in (0.1, 0.2, 0.3, 0.5, 1.0, 3.0)
]
DIFFERENCES = [
    DifferenceCell(sizes, sigmas)
    for sizes in ((3, 3), (10, 10), (30, 10))
    for sigmas in ((0.2, 0.2), (0.4, 0.4), (1.0, 1.0), (0.3, 1.5))
]
