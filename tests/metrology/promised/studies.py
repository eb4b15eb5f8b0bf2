"""Studies as they might be read: normal settings, rounded, each block with a mean of its own."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.reference import Reference, SpreadFreedom, spread_freedom
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.law.many_tails import ManyStudies
from hostctl.metrology.rounded.rounding import spread_evidence

Graduations = NDArray[np.int64]
"""By study, block and value."""

Zero = Literal["datum", "bezel", "subtracted", "previous"]
"""What readings count from: a datum; the first setting, the bezel turned until the dial shows 0,
or the first reading subtracted; the setting before."""

_REFERENCE: dict[Zero, Reference] = {
    "datum": "datum",
    "bezel": "first",
    "subtracted": "first",
    "previous": "previous",
}

Place = tuple[float, ...] | None
"""Where in a graduation means lie, in graduations from its middle: of the first block, the second,
and so on, and round again; None: anywhere, uniformly. With `bezel` and `previous` it is where the
pointer stands when the dial is read as 0."""

ONE_PLACE: tuple[Place, ...] = tuple((p,) for p in (0.0, 0.08, 0.16, 0.24, 0.32, 0.4, 0.45, 0.4999))
MIXED: tuple[Place, ...] = ((0.0, 0.4999), (0.0, 0.25), (0.25, 0.4999), (0.0, 0.0, 0.4999))


@dataclass(frozen=True, slots=True)
class Shape:
    """Blocks of n values each: readings, or with `previous` differences; a zero counts as one."""

    n: int
    blocks: int = 1
    zero: Zero = "datum"

    def __str__(self) -> str:
        return f"{self.n}" if self.blocks == 1 else f"{self.blocks} x {self.n}"

    @property
    def reference(self) -> Reference:
        """As the product calls it."""
        return _REFERENCE[self.zero]

    @property
    def freedom(self) -> SpreadFreedom:
        """Of the values as points."""
        return spread_freedom([self.n] * self.blocks, self.reference)

    @property
    def of_value(self) -> float:
        """The sigma of a value over that of a setting."""
        return math.sqrt(2.0) if self.zero == "previous" else 1.0

    @property
    def places(self) -> tuple[Place, ...]:
        """Among which the worst is searched."""
        return ONE_PLACE if self.blocks == 1 else ONE_PLACE + MIXED

    def read(self, rng: np.random.Generator, sigma: float, places: Sequence[Place]) -> Graduations:
        """Studies of settings with this sigma, in graduations; places: of each study."""
        at = np.array([_at(rng, place, self.blocks) for place in places])[:, :, None]
        more = 1 if self.zero == "previous" else 0
        settings = sigma * rng.standard_normal((len(places), self.blocks, self.n + more))
        match self.zero:
            case "datum":
                read = np.rint(settings + at)
            case "bezel":
                read = np.rint(settings - settings[:, :, :1] + at)
                read[:, :, 0] = 0.0
            case "subtracted":
                read = np.rint(settings + at)
                read -= read[:, :, :1]
            case "previous":
                read = np.rint(np.diff(settings, axis=2) + at)
        return read.astype(np.int64)

    def many(self, read: Graduations) -> ManyStudies:
        """All of them at once."""
        return ManyStudies(read, self.reference)

    def evidence(self, one: NDArray[np.int64]) -> SpreadEvidence:
        """One of them as the product takes it."""
        return spread_evidence(self.blocks_of(one), resolution=1.0, reference=self.reference)

    def blocks_of(self, one: NDArray[np.int64]) -> list[list[float]]:
        """The readings of one, by block; a zero is no reading."""
        first = 1 if self.reference == "first" else 0
        return [[float(value) for value in block[first:]] for block in one]


def _at(rng: np.random.Generator, place: Place, blocks: int) -> list[float]:
    if place is None:
        return rng.uniform(-0.5, 0.5, blocks).tolist()
    return [place[block % len(place)] for block in range(blocks)]


def spans(read: Graduations) -> NDArray[np.int64]:
    """Graduations from lowest to highest, of the widest block of each study."""
    return np.asarray((read.max(axis=2) - read.min(axis=2)).max(axis=1))
