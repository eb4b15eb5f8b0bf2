"""What a plan promises against what the judging rule then reaches, in 20 cells.

The full check, 4,000 studies a cell: python tests/metrology/planned_studies.py [studies]
"""

import math
import sys
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.claims.assumed import AssumedStudy, RigAssumed
from hostctl.metrology.claims.claim import Claim
from hostctl.metrology.claims.planning import Chances, proving, seeing
from hostctl.metrology.comparison.spread_ratio import spread_ratio
from hostctl.metrology.rounded.rounding import spread_evidence
from hostctl.metrology.spread.setting import setting_is_above

Z = 1.959963984540054  # the normal quantile of 0.975, common tables (from memory)
SEED, RISK, POWER = 20_261, 0.05, 0.8


@dataclass(frozen=True)
class Cell:
    """Spreads in graduations. times: the claim's limit, or the other spread, in spreads.

    rig: the rig's spread and the trials of its check.
    """

    kind: str
    sigma: float
    times: float
    blocks: int = 1
    rig: tuple[float, int] | None = None
    pairs: int = 1

    @property
    def study(self) -> AssumedStudy:
        rig = RigAssumed(sd=self.rig[0], trials=self.rig[1]) if self.rig else None
        return AssumedStudy(resolution=1.0, blocks=self.blocks, pairs=self.pairs, rig=rig)

    def chances(self) -> Chances:
        """As the plan has them."""
        if self.kind == "see":
            return seeing(self.times, risk=RISK, sigma=self.sigma, study=self.study)
        claim = Claim(tolerance=Z * self.sigma * self.times)
        return proving(claim, sigma=self.sigma, study=self.study)

    def reached(self, n: int, studies: int) -> float:
        """The share of simulated studies in which the judging rule says so."""
        rng = np.random.default_rng([SEED, n, round(100 * self.sigma), round(100 * self.times)])
        judge = self._differ if self.kind == "see" else self._proven
        return sum(judge(rng, n) for _ in range(studies)) / studies

    def _differ(self, rng: np.random.Generator, n: int) -> bool:
        wide, close = (self._read(rng, n, s) for s in (self.sigma * self.times, self.sigma))
        return spread_ratio(wide, close, compared=self.pairs).differs

    def _proven(self, rng: np.random.Generator, n: int) -> bool:
        rig = None
        if self.rig:
            sd, trials = self.rig
            check = np.rint(rng.normal(rng.uniform(-0.5, 0.5), sd, trials))
            rig = spread_evidence([check.tolist()], resolution=1.0)
        total = self._read(rng, n, self.sigma)
        return setting_is_above(total, rig, self.sigma * self.times) <= RISK

    def _read(self, rng: np.random.Generator, n: int, sigma: float):
        """Blocks zeroed once, the zero being the first of their settings."""
        total = math.hypot(sigma, self.rig[0] if self.rig else 0.0)
        places = rng.uniform(-0.5, 0.5, (self.blocks, 1))
        read = np.rint(rng.normal(0.0, total, (self.blocks, n // self.blocks)) + places)
        counted = (read[:, 1:] - read[:, :1]).tolist()
        return spread_evidence(counted, resolution=1.0, reference="first")


CELLS = (
    Cell("prove", 0.3, 2.0),
    Cell("prove", 0.5, 1.6),
    Cell("prove", 0.5, 1.4, blocks=2),
    Cell("prove", 0.7, 1.5),
    Cell("prove", 1.0, 1.7),
    Cell("prove", 1.5, 1.7),
    Cell("prove", 1.5, 1.4, blocks=4),
    Cell("prove", 2.0, 1.5),
    Cell("prove", 5.0, 1.3, blocks=2),
    Cell("prove", 0.5, 2.0, rig=(0.3, 20)),
    Cell("prove", 1.0, 1.6, rig=(0.5, 15)),
    Cell("prove", 1.5, 1.6, rig=(0.5, 20)),
    Cell("prove", 1.5, 1.7, blocks=2, rig=(1.0, 20)),
    Cell("prove", 3.0, 1.5, rig=(1.5, 30)),
    Cell("see", 0.4, 2.5),
    Cell("see", 0.5, 2.0, pairs=3),
    Cell("see", 1.0, 2.0, blocks=2),
    Cell("see", 1.5, 1.7),
    Cell("see", 2.0, 2.0, pairs=3, rig=(1.0, 20)),
    Cell("see", 5.0, 2.0),
)


def gap(cell: Cell, studies: int) -> tuple[int, float, float]:
    """The trials planned, the chance promised and the one reached."""
    chances = cell.chances()
    n = chances.fewest(POWER, 2000)
    return n, chances.chance(n), cell.reached(n, studies)


def main(studies: int) -> None:
    worst = 0.0
    for cell in CELLS:
        n, promised, reached = gap(cell, studies)
        worst = max(worst, abs(promised - reached))
        print(f"{cell}: {n} trials, promised {promised:.3f}, reached {reached:.3f}", flush=True)
    print(f"largest difference: {100 * worst:.1f} points")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)
