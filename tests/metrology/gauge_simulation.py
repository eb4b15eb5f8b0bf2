"""Simulated pairs of gauges with a known difference: how often the limits of a comparison hold.

Makes the second table of `tests/data/axis.md` again: python tests/metrology/gauge_simulation.py
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.looping.paired import paired_difference


@dataclass(frozen=True, kw_only=True)
class Gauges:
    """What is true of two gauges at one place. rig_mm: scatter that both follow alike."""

    difference_mm: float
    sds_mm: tuple[float, float]
    steps_mm: tuple[float, float]
    rig_mm: float = 0.0
    drift_mm: float = 0.0  # from the first pair to the last
    pairs: int = 10

    @property
    def spread_mm(self) -> float:
        return float(np.hypot(*self.sds_mm))


CASES = {
    "probe and indicator": Gauges(
        difference_mm=-0.498, sds_mm=(0.003, 0.002), steps_mm=(0.0025, 0.01), rig_mm=0.003
    ),
    "two indicators, 0.01 mm": Gauges(
        difference_mm=0.004, sds_mm=(0.002, 0.002), steps_mm=(0.01, 0.01), rig_mm=0.004
    ),
    "alike but for rounding": Gauges(difference_mm=0.0, sds_mm=(1e-5, 1e-5), steps_mm=(0.01, 0.01)),
    "scatter of a graduation": Gauges(
        difference_mm=0.02, sds_mm=(0.01, 0.008), steps_mm=(0.01, 0.01)
    ),
    "five pairs": Gauges(difference_mm=0.1, sds_mm=(0.004, 0.004), steps_mm=(0.001, 0.01), pairs=5),
    "drifts by 0.02 mm": Gauges(
        difference_mm=0.0, sds_mm=(0.004, 0.004), steps_mm=(0.001, 0.001), drift_mm=0.02, pairs=20
    ),
}


def misses(gauges: Gauges, times: int, seed: int) -> tuple[int, int]:
    """How often the interval of the mean, and that of the spread, leaves out the truth.

    Each pair is read one gauge after the other, in turn first, while what they read drifts on.
    """
    chance, missed = np.random.default_rng(seed), [0, 0]
    steps = 2 * gauges.pairs
    moment = np.arange(steps).reshape(-1, 2)
    moment[1::2] = moment[1::2, ::-1]
    for _ in range(times):
        place = chance.uniform(0, 0.1)
        rig = chance.normal(0, gauges.rig_mm, gauges.pairs) if gauges.rig_mm else 0.0
        readings = []
        for which, (sd, step) in enumerate(zip(gauges.sds_mm, gauges.steps_mm, strict=True)):
            true = place + (gauges.difference_mm if which == 0 else 0.0)
            true = true + rig + gauges.drift_mm * moment[:, which] / steps
            readings.append(np.round((true + chance.normal(0, sd, gauges.pairs)) / step) * step)
        found = paired_difference(
            *readings, resolution=gauges.steps_mm[0], second_resolution=gauges.steps_mm[1]
        )
        assert not isinstance(found, NotYet)
        missed[0] += gauges.difference_mm not in found.mean.interval
        missed[1] += gauges.spread_mm not in found.spread.interval
    return missed[0], missed[1]


def rows(times: int) -> Iterator[str]:
    yield "| gauges | mean difference | spread of a difference |"
    yield "| --- | --- | --- |"
    for seed, (name, gauges) in enumerate(CASES.items()):
        missed = misses(gauges, times, seed)
        yield f"| {name} | {' | '.join(f'{100 * n / times:.1f} %' for n in missed)} |"


if __name__ == "__main__":
    for row in rows(int(sys.argv[1]) if len(sys.argv) > 1 else 2000):
        print(row, flush=True)
