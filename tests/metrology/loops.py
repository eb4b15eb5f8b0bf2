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


SPREADS: list[tuple[float, float | None, int]] = [
    (0.3, None, LOOPS),
    (0.3, 0.0, 400),
    (0.5, None, 400),
    (0.5, 0.5, 400),
    (1.0, None, 400),
    (3.0, None, LOOPS),
    (10.0, None, LOOPS),
]
"""Sigma, place of the mean, and loops: below a graduation each takes long."""


def spread_row(number: int) -> str:
    sigma, place, loops = SPREADS[number]
    rng = np.random.default_rng([SEED, 1, number])
    looks = [last_look(independent(rng, sigma, place)) for _ in range(loops)]
    wrong, stopped, silent, touches = shares(looks, sigma)
    where = "anywhere" if place is None else f"{place:g}"
    failing = " **so**" if wrong > 0.05 + 3.5 * error(0.05, loops) else ""
    return (
        f"| {sigma:g} | {where} | {loops} | {100 * wrong:.2f}{failing} | {100 * stopped:.1f} | "
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


HEAD = """# Loops with a known truth: how well what is promised is kept

Written by `python tests/metrology/loops.py` (seed 20261129); not by hand. Touches are normal, read
to whole graduations; every sigma is in graduations, a place is that of the mean from the middle of
one, `anywhere` is uniform. Shares are percent of loops. A share that breaks its promise by more
than 3.5 simulation errors is marked **so**.
"""
SPREAD = """
## Known well enough

At most 2,500 touches, stopped once known to 0.1. Promised: what is stated at the stop or the end
misses the truth in at most 5 %.

| sigma | place | loops | missed | stopped early or at the end | nothing stated | touches, median |
| --- | --- | --- | --- | --- | --- | --- |
"""
REFUSED = """
## Touches whose order shows

Sigma 3; 500 loops of at most 2,500. A drift is straight, by so much from first to last; a warm-up
settles with a time constant of a tenth of the loop. Missed: the scatter without the drift.

| touches | missed | stopped | nothing stated |
| --- | --- | --- | --- |
"""
LIMIT = """
## Control limit

2,000 loops of 10,000 touches without a change. Promised: at most 1 % are stopped. Caught: share of
jumps by 8 standard deviations of what is read, `sqrt(sigma^2 + 1/12)`, that are seen at once. Where
readings are nearly all alike, a jump of less than 3 graduations may not be.

| sigma | place | stopped falsely | caught |
| --- | --- | --- | --- |
"""


def main() -> None:
    """Write the file."""
    parts = (
        (SPREAD, map(spread_row, range(len(SPREADS)))),
        (REFUSED, refused_rows()),
        (LIMIT, limit_rows()),
    )
    text = "".join(head + "\n".join(rows) + "\n" for head, rows in parts)
    FILE.write_text(HEAD + text, encoding="utf-8")


if __name__ == "__main__":
    main()
