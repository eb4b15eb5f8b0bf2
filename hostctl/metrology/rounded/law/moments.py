"""Three moments of a block's score, wherever its mean lies within a graduation.

Below WIDE resolutions they are read from a table that `make_table` simulates; above they are those
of a sum of squares. What the grid of graduations is fixed to is the frame: the mean of the settings
(`mean`: a datum, or the first reading subtracted from the others), the first setting (`zero`: the
bezel turned until the dial shows 0, with up to half a graduation of error), or neither, as with
differences of neighbours.
"""

import json
import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal, TypeAlias

from hostctl.metrology.basis.reference import Reference, spread_freedom
from hostctl.metrology.rounded.law.score import WIDE

Frame = Literal["mean", "zero", "differences"]

SAME_EVERYWHERE = 1.0
"""Above this sigma the place within a graduation no longer shows: exp(-2 pi^2) at most."""

PLACES = (0.0, 0.125, 0.25, 0.375, 0.5)
"""Where a mean may lie, in graduations from the middle of one; the other half is the mirror."""

_FRAMES: dict[Reference, tuple[Frame, ...]] = {
    "datum": ("mean",),
    # how the zero was made is not on record with every table of readings: the worse one counts
    "first": ("mean", "zero"),
    "previous": ("differences",),
}

_TABLE = Path(__file__).with_name("score_moments.json")

_Cells: TypeAlias = list[list[list[list[float]]]]


@dataclass(frozen=True, slots=True)
class Moments:
    """Mean, variance and third central moment of a score."""

    mean: float
    variance: float
    third: float

    def __add__(self, other: "Moments") -> "Moments":
        return Moments(
            self.mean + other.mean, self.variance + other.variance, self.third + other.third
        )

    def __mul__(self, times: int) -> "Moments":
        return Moments(self.mean * times, self.variance * times, self.third * times)


@dataclass(frozen=True, slots=True)
class Table:
    """The simulated moments. cells: by frame, then size, sigma, place and moment."""

    sizes: tuple[float, ...]
    sigmas: tuple[float, ...]
    cells: dict[str, _Cells]


@lru_cache(maxsize=1)
def table() -> Table:
    """As the package brings it."""
    found = json.loads(_TABLE.read_text(encoding="utf-8"))
    return Table(
        sizes=tuple(math.log(n) for n in found["sizes"]),
        sigmas=tuple(math.log(sigma) for sigma in found["sigmas"]),
        cells=found["frames"],
    )


def frames_at(reference: Reference, sigma: float) -> tuple[Frame, ...]:
    """The frames that make a difference at this sigma."""
    frames = _FRAMES[reference]
    return frames if sigma < 1.2 else frames[:1]


@lru_cache(maxsize=8192)
def block_moments(frame: Frame, n: int, sigma: float) -> tuple[Moments, ...]:
    """Of one block of n values, at each of PLACES, or once where the place doesn't matter."""
    if sigma >= WIDE:
        return (_of_squares(frame, n),)
    known = table()
    row, along = _between(known.sigmas, math.log(sigma))
    size, beyond = _between(known.sizes, math.log(n))
    cells = known.cells[frame]
    corners = [
        (cells[size + i][row + j], (beyond if i else 1.0 - beyond) * (along if j else 1.0 - along))
        for i in (0, 1)
        for j in (0, 1)
    ]
    places = range(len(PLACES) if sigma <= SAME_EVERYWHERE else 1)
    return tuple(_mixed(corners, place, n - 1) for place in places)


def _mixed(corners: list[tuple[list[list[float]], float]], place: int, freedom: int) -> Moments:
    mean = variance = third = 0.0
    for cell, weight in corners:
        known = cell[min(place, len(cell) - 1)]
        mean += weight * known[0]
        variance += weight * known[1]
        third += weight * known[2]
    return Moments(mean, 2.0 * freedom * variance, 8.0 * freedom * third)


def _between(mesh: tuple[float, ...], x: float) -> tuple[int, float]:
    """The interval of the mesh that x lies in, and how far along it; held at the ends."""
    index = min(max(bisect_right(mesh, x) - 1, 0), len(mesh) - 2)
    share = (x - mesh[index]) / (mesh[index + 1] - mesh[index])
    return index, min(max(share, 0.0), 1.0)


def _of_squares(frame: Frame, n: int) -> Moments:
    freedom = spread_freedom([n], "previous" if frame == "differences" else "datum")
    return Moments(
        mean=freedom.scale * freedom.df - (n - 1),
        variance=2.0 * freedom.df * freedom.scale**2,
        third=8.0 * freedom.df * freedom.scale**3,
    )
