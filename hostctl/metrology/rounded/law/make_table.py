"""Makes the table of the score's moments: python -m hostctl.metrology.rounded.law.make_table

Seeded simulation, some ten minutes on one core; writes score_moments.json beside this file.
For each frame, number of values, sigma and place (see `moments`) it holds the mean of the score,
and its variance and third central moment as parts of those that points would have, 2 (n - 1) and
8 (n - 1).
"""

import json
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.rounded.law.many_samples import count_rows, scores
from hostctl.metrology.rounded.law.moments import SAME_EVERYWHERE

SEED = 20_261_128
SIGMAS = (
    *(0.1, 0.125, 0.15, 0.175, 0.2, 0.225, 0.25, 0.275, 0.3, 0.325, 0.35, 0.375, 0.4, 0.45, 0.5),
    *(0.55, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.5, 1.9, 2.5),
)
SIZES = (2, 3, 4, 5, 6, 7, 8, 10, 12, 16, 21, 30, 45, 70, 100, 200)
PLACES = (0.0, 0.125, 0.25, 0.375, 0.4999)

_VALUES = 600_000  # simulated in each cell
_MOST = 60_000

Sampler = Callable[[np.random.Generator, int, int, float, float], NDArray[np.float64]]


def _about_mean(
    rng: np.random.Generator, rows: int, n: int, sigma: float, place: float
) -> NDArray[np.float64]:
    return rng.standard_normal((rows, n)) * sigma + place


def _about_zero(
    rng: np.random.Generator, rows: int, n: int, sigma: float, place: float
) -> NDArray[np.float64]:
    settings = rng.standard_normal((rows, n)) * sigma
    return settings - settings[:, :1] + place


def _differences(
    rng: np.random.Generator, rows: int, n: int, sigma: float, place: float
) -> NDArray[np.float64]:
    settings = rng.standard_normal((rows, n + 1)) * (sigma / math.sqrt(2.0))
    return np.diff(settings, axis=1) + place


FRAMES: dict[str, Sampler] = {
    "mean": _about_mean,
    "zero": _about_zero,
    "differences": _differences,
}


def moments_of(
    rng: np.random.Generator, frame: str, n: int, sigma: float, place: float
) -> tuple[float, float, float]:
    """Mean, variance and third central moment of a block's score, by simulation."""
    rows = min(_MOST, _VALUES // n)
    graduations = np.rint(FRAMES[frame](rng, rows, n, sigma, place)).astype(np.int64)
    counts, which = count_rows(graduations)
    found = scores(counts, n, min(sigma, 2.4999))[which]
    mean = float(found.mean())
    return mean, float(found.var()), float(((found - mean) ** 3).mean())


def table() -> dict[str, object]:
    """The whole table."""
    rng = np.random.default_rng(SEED)
    frames: dict[str, list[list[list[tuple[float, float, float]]]]] = {}
    for frame in FRAMES:
        frames[frame] = []
        for n in SIZES:
            rows = []
            for sigma in SIGMAS:
                places = PLACES if sigma <= SAME_EVERYWHERE else PLACES[2:3]
                found = [moments_of(rng, frame, n, sigma, place) for place in places]
                rows.append(
                    [
                        (round(m, 4), round(v / (2 * (n - 1)), 5), round(t / (8 * (n - 1)), 5))
                        for m, v, t in found
                    ]
                )
            frames[frame].append(rows)
    return {"sizes": SIZES, "sigmas": SIGMAS, "places": PLACES, "frames": frames}


if __name__ == "__main__":
    text = json.dumps(table(), separators=(",", ":")).replace("]]],", "]]],\n")
    Path(__file__).with_name("score_moments.json").write_text(text + "\n", encoding="utf-8")
