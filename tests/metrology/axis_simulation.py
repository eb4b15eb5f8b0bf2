"""Simulated Z axes with known truth: how often the limits of an axis test hold.

Makes the table of `tests/data/axis.md` again: python tests/metrology/axis_simulation.py
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.geometry.axis_limits import axis_limits

TARGETS_MM = np.array([-2.9, -2.13, -1.3, -0.55, 0.22])
LEAD_MM = 8.0
FIGURES = (
    "spread",
    "repeatability_up",
    "repeatability_down",
    "reversal",
    "repeatability",
)

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Axis:
    """What is true. sds_mm: from below and from above, at all targets.  uneven: how much more it
    scatters at the last target than at the first."""

    lead_error_mm: float
    backlash_mm: float
    sds_mm: tuple[float, float]
    resolution_mm: float
    uneven: float = 1.0
    runs: int = 5

    def means_mm(self) -> tuple[Floats, Floats]:
        lead = self.lead_error_mm * np.sin(2 * pi * TARGETS_MM / LEAD_MM)
        return lead, lead - self.backlash_mm

    def spreads_mm(self) -> tuple[Floats, Floats]:
        factor = np.linspace(1.0, self.uneven, len(TARGETS_MM))
        return self.sds_mm[0] * factor, self.sds_mm[1] * factor

    def truth(self) -> dict[str, float]:
        up, down = self.spreads_mm()
        reversal = np.full(len(TARGETS_MM), self.backlash_mm)
        each = np.maximum(2 * up + 2 * down + abs(reversal), 4 * np.maximum(up, down))
        return {
            "spread": float(up[0]),
            "repeatability_up": float(4 * up.max()),
            "repeatability_down": float(4 * down.max()),
            "reversal": self.backlash_mm,
            "repeatability": float(each.max()),
        }

    @property
    def spread_is_one(self) -> bool:
        return self.uneven == 1.0 and self.sds_mm[0] == self.sds_mm[1]

    def readings_mm(self, chance: np.random.Generator) -> tuple[list[Floats], list[Floats]]:
        """As read: the indicator's zero lies anywhere in a graduation, and so does each target."""
        zero = chance.uniform(0.0, self.resolution_mm)
        out = []
        for means, sds in zip(self.means_mm(), self.spreads_mm(), strict=True):
            reached = chance.normal(means[:, None], sds[:, None], (len(means), self.runs))
            shown = np.round((TARGETS_MM[:, None] + reached + zero) / self.resolution_mm)
            out.append(list(shown * self.resolution_mm - TARGETS_MM[:, None]))
        return out[0], out[1]


CASES = {
    "a good axis, 0.01 mm": Axis(
        lead_error_mm=0.005, backlash_mm=0.0, sds_mm=(0.002, 0.002), resolution_mm=0.01
    ),
    "backlash of 2 graduations": Axis(
        lead_error_mm=0.01, backlash_mm=0.02, sds_mm=(0.003, 0.003), resolution_mm=0.01
    ),
    "scatter of a graduation": Axis(
        lead_error_mm=0.01, backlash_mm=0.015, sds_mm=(0.01, 0.01), resolution_mm=0.01
    ),
    "scatters more from above": Axis(
        lead_error_mm=0.02, backlash_mm=0.03, sds_mm=(0.004, 0.012), resolution_mm=0.01
    ),
    "scatters more at one end": Axis(
        lead_error_mm=0.0, backlash_mm=0.01, sds_mm=(0.004, 0.004), resolution_mm=0.01, uneven=4.0
    ),
    "read to 0.001 mm": Axis(
        lead_error_mm=0.01, backlash_mm=0.008, sds_mm=(0.003, 0.003), resolution_mm=0.001
    ),
    "ten runs": Axis(
        lead_error_mm=0.01, backlash_mm=0.02, sds_mm=(0.006, 0.006), resolution_mm=0.01, runs=10
    ),
}


def misses(axis: Axis, times: int, seed: int) -> dict[str, int]:
    """How often each interval leaves out the truth."""
    chance, truth = np.random.default_rng(seed), axis.truth()
    missed = dict.fromkeys(FIGURES, 0)
    for _ in range(times):
        up, down = axis.readings_mm(chance)
        limits = axis_limits(up, down, resolution=axis.resolution_mm)
        for name in FIGURES:
            interval = limits.spread.interval if name == "spread" else getattr(limits, name)
            slack = 1e-9
            missed[name] += not interval.low - slack <= truth[name] <= interval.high + slack
    if not axis.spread_is_one:
        missed["spread"] = -1  # there is no such spread
    return missed


def rows(times: int) -> Iterator[str]:
    yield f"| axis | {' | '.join(FIGURES)} |"
    yield f"| --- |{' --- |' * len(FIGURES)}"
    for seed, (name, axis) in enumerate(CASES.items()):
        missed = misses(axis, times, seed)
        cells = ("" if n < 0 else f"{100 * n / times:.1f} %" for n in missed.values())
        yield f"| {name} | {' | '.join(cells)} |"


if __name__ == "__main__":
    for row in rows(int(sys.argv[1]) if len(sys.argv) > 1 else 300):
        print(row, flush=True)
