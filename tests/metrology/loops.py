"""Simulated loops with a known truth: writes tests/data/loops.md.  python tests/metrology/loops.py

Some minutes on one core; seeded.
"""

import math
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.estimate import Estimate
from hostctl.metrology.looping.control_limit import BASELINE, ControlLimit
from hostctl.metrology.looping.known_spread import KnownSpread, SpreadLook

SEED = 20_261_129
LOOPS = 2_000
MOST = 2_500
KNOWN_TO = 0.1
FILE = Path(__file__).parents[1] / "data" / "loops.md"
Rng = np.random.Generator
Floats = NDArray[np.float64]


def error(share: float, loops: int) -> float:
    """The simulation error of a share."""
    return math.sqrt(share * (1.0 - share) / loops)


def last_look(readings: Floats, known_to: float = KNOWN_TO) -> SpreadLook:
    """Of a loop with a resolution of 1, at its stop or its end."""
    known = KnownSpread(most=len(readings), known_to=known_to, resolution=1.0)
    for value in readings.tolist():
        found = known.add(value)
        if found is not None and found.stop:
            break
    assert known.last is not None
    return known.last


def independent(rng: Rng, sigma: float, place: float | None, most: int = MOST) -> Floats:
    """place: of the mean within a graduation; None: anywhere."""
    middle = rng.uniform(-0.5, 0.5) if place is None else place
    return np.round(rng.normal(middle, sigma, most))


def alike(rng: Rng, sigma: float, likeness: float, most: int = MOST) -> Floats:
    """Neighbours correlated, of first order."""
    noise = rng.normal(0.0, sigma * math.sqrt(1.0 - likeness**2), most)
    values, value = np.empty(most), rng.normal(0.0, sigma)
    for i, one in enumerate(noise):
        value = likeness * value + one
        values[i] = value
    return np.round(values)


def drifting(rng: Rng, sigma: float, by: float, most: int = MOST) -> Floats:
    """A straight drift by so many sigma from first to last."""
    return np.round(rng.normal(0.0, sigma, most) + np.linspace(0.0, by * sigma, most))


def warming(rng: Rng, sigma: float, by: float, most: int = MOST) -> Floats:
    """A warm-up by so many sigma, settling with a time constant of a tenth of the loop."""
    fading = by * sigma * np.exp(-np.arange(most) / (most / 10.0))
    return np.round(rng.normal(0.0, sigma, most) + fading)


def missed(look: SpreadLook, sigma: float) -> bool:
    """Whether what is stated misses the truth."""
    return isinstance(look.spread, Estimate) and sigma not in look.spread.interval


def shares(looks: list[SpreadLook], sigma: float) -> tuple[float, float, float, float]:
    """Missed, stopped, stated nothing, and the median of touches."""
    return (
        float(np.mean([missed(look, sigma) for look in looks])),
        float(np.mean([look.stop for look in looks])),
        float(np.mean([not isinstance(look.spread, Estimate) for look in looks])),
        float(np.median([look.touches for look in looks])),
    )


def spread_rows() -> Iterator[str]:
    rng = np.random.default_rng([SEED, 1])
    for sigma, place in [
        *((sigma, None) for sigma in (0.3, 0.5, 1.0, 3.0, 10.0)),
        *((sigma, place) for sigma in (0.3, 0.5, 1.0) for place in (0.0, 0.125, 0.25, 0.5)),
    ]:
        looks = [last_look(independent(rng, sigma, place)) for _ in range(LOOPS)]
        wrong, stopped, silent, touches = shares(looks, sigma)
        where = "anywhere" if place is None else f"{place:g}"
        failing = " **so**" if wrong > 0.05 + 3.5 * error(0.05, LOOPS) else ""
        yield (
            f"| {sigma:g} | {where} | {100 * wrong:.2f}{failing} | {100 * stopped:.1f} | "
            f"{100 * silent:.1f} | {touches:.0f} |"
        )


def refused_rows() -> Iterator[str]:
    rng = np.random.default_rng([SEED, 2])
    loops = LOOPS // 4
    kinds: list[tuple[str, Callable[[], Floats]]] = [
        ("neighbours alike by 0.2", lambda: alike(rng, 3.0, 0.2)),
        ("neighbours alike by 0.5", lambda: alike(rng, 3.0, 0.5)),
        ("neighbours alike by 0.9", lambda: alike(rng, 3.0, 0.9)),
        ("neighbours unlike by 0.5", lambda: alike(rng, 3.0, -0.5)),
        ("drift by 2 sigma", lambda: drifting(rng, 3.0, 2.0)),
        ("drift by 5 sigma", lambda: drifting(rng, 3.0, 5.0)),
        ("drift by 20 sigma", lambda: drifting(rng, 3.0, 20.0)),
        ("warm-up by 2 sigma", lambda: warming(rng, 3.0, 2.0)),
        ("warm-up by 10 sigma", lambda: warming(rng, 3.0, 10.0)),
    ]
    for name, one in kinds:
        looks = [last_look(one()) for _ in range(loops)]
        wrong, stopped, silent, _ = shares(looks, 3.0)
        yield f"| {name} | {100 * wrong:.2f} | {100 * stopped:.1f} | {100 * silent:.1f} |"


def stops(readings: Floats, most: int, baseline: int = BASELINE) -> NDArray[np.bool_]:
    """Which loops, a row each, the limit stops; as `ControlLimit` with a resolution of 1."""
    limit = ControlLimit(most=most, resolution=1.0, baseline=baseline)
    first = readings[:, :baseline]
    start = first[:, :1]
    away = first - start
    s = np.sqrt(np.maximum(away.var(axis=1, ddof=1), 1.0 / 12.0))
    reach = limit.t * s * math.sqrt(1.0 + 1.0 / baseline) + 0.5
    centre = away.mean(axis=1)
    stopped = np.zeros(len(readings), dtype=np.bool_)
    for column in range(baseline, readings.shape[1]):
        apart = readings[:, column] - start[:, 0] - centre
        beyond = np.abs(apart) > reach
        stopped |= beyond
        centre += np.where(beyond, 0.0, apart / baseline)
    return stopped


def limit_rows(loops: int = LOOPS, most: int = 10_000) -> Iterator[str]:
    rng = np.random.default_rng([SEED, 3])
    for sigma, place in [
        *((sigma, None) for sigma in (0.1, 0.2, 0.3, 0.4, 0.5, 1.0, 3.0, 10.0)),
        *((sigma, place) for sigma in (0.2, 0.3, 0.4) for place in (0.0, 0.15, 0.3)),
    ]:
        false, caught, pieces = 0, 0, 10
        for _ in range(pieces):
            rows = loops // pieces
            middles = rng.uniform(-0.5, 0.5, (rows, 1)) if place is None else place
            readings = np.round(rng.standard_normal((rows, most)) * sigma + middles)
            false += int(stops(readings, most).sum())
            read_sd = math.sqrt(sigma**2 + 1.0 / 12.0)
            jumped = readings[:, : BASELINE + 1].copy()
            step = rng.standard_normal(rows) * sigma + np.ravel(middles) + 8.0 * read_sd
            jumped[:, BASELINE] = np.round(step)
            caught += int(stops(jumped, most).sum())
        share = false / loops
        failing = " **so**" if share > 0.01 + 3.5 * error(0.01, loops) else ""
        where = "anywhere" if place is None else f"{place:g}"
        row = f"| {sigma:g} | {where} | {100 * share:.2f}{failing} | {100 * caught / loops:.1f} |"
        yield row
