"""How often "about N more trials would probably decide" then holds, the truth as estimated.

All cells: python tests/metrology/continuations.py
"""

import math
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.basis.confidence_box import Quantiles, thinned
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.claims.foresight import trials_to_verdict
from hostctl.metrology.rounded.evidence import FINEST, SpreadEvidence
from hostctl.metrology.rounded.law.many_tails import ManyStudies
from hostctl.metrology.rounded.rounding import spread_evidence
from hostctl.metrology.spread.setting import setting_is_above, setting_is_below

SEED, RISK = 5_150, 0.05
LONGEST = 400  # trials more that are simulated


@dataclass(frozen=True)
class Cell:
    """n readings in each block; sigma and rig in graduations. times: the claim's limit, in sigma.

    rig: 0 for none taken out; its check has 15 trials.
    """

    n: int
    sigma: float
    blocks: int = 1
    rig: float = 0.0
    times: float = 1.35

    def share_decided(self, studies: int, continuations: int) -> float:
        """On average over studies that can't tell yet and are told a number."""
        rng = np.random.default_rng([SEED, self.n, round(100 * self.sigma), self.blocks])
        shares: list[float] = []
        while len(shares) < studies:
            read, rig = self._study(rng)
            total = spread_evidence(read.tolist(), resolution=1.0)
            more = self._more(total, rig)
            if more is not None:
                shares.append(self._decided(rng, read, total, rig, more, continuations))
        return float(np.mean(shares))

    def _study(self, rng: np.random.Generator):
        places = rng.uniform(-0.5, 0.5, (self.blocks, 1))
        spread = math.hypot(self.sigma, self.rig)
        read = np.rint(rng.normal(0.0, spread, (self.blocks, self.n)) + places)
        if not self.rig:
            return read, None
        check = np.rint(rng.normal(rng.uniform(-0.5, 0.5), self.rig, 15)).tolist()
        return read, spread_evidence([check], resolution=1.0)

    @property
    def _limit(self) -> float:
        return self.times * self.sigma

    def _more(self, total: SpreadEvidence, rig: SpreadEvidence | None) -> int | None:
        """None where it is decided, or no number is told, or one too long to simulate."""
        if total.span < 2 or (rig is not None and setting_is_above(total, rig, 0.0) <= RISK / 2):
            return None
        if setting_is_above(total, rig, self._limit) <= RISK:
            return None
        if setting_is_below(total, rig, self._limit) <= RISK:
            return None
        more = trials_to_verdict(total, rig, limit=self._limit, risk=RISK)
        return None if isinstance(more, NotYet) or more > LONGEST else more

    def _decided(self, rng, read, total, rig, more: int, continuations: int) -> float:
        kept = np.repeat(read[None], continuations, axis=0)
        middles = read.mean(axis=1)[None, :, None]
        shape = (continuations, self.blocks, more // self.blocks)
        new = np.rint(rng.normal(0.0, total.likeliest, shape) + middles)
        studies = ManyStudies(np.concatenate([kept, new], axis=2).astype(np.int64), "datum")
        close = self._tail(studies, rig.box.lower if rig else None, 0)
        wide = self._tail(studies, rig.box.upper if rig else None, 1)
        return float(((close <= RISK) | (wide <= RISK)).mean())

    def _tail(self, studies: ManyStudies, rig: Quantiles | None, side: int):
        drawn = [(0.0, 1.0)] if rig is None else thinned(rig, 3)
        return sum(
            weight * studies.tails(max(math.hypot(self._limit, value), FINEST))[side]
            if math.isfinite(value)
            else weight * side  # a rig without bound hides how wide the readings are
            for value, weight in drawn
        )


SIGMAS = (0.5, 0.7, 1.0, 2.0, 5.0)
CELLS = (
    *(Cell(n, sigma) for n in (5, 10, 20) for sigma in SIGMAS),
    *(Cell(50, sigma, times=1.15) for sigma in SIGMAS),
    *(Cell(n, sigma, blocks=2) for n in (6, 15) for sigma in SIGMAS),
    *(Cell(n, sigma, times=0.7) for n in (5, 10, 20) for sigma in (1.0, 2.0, 5.0)),
    *(Cell(n, sigma, rig=0.4 * sigma) for n in (8, 20) for sigma in SIGMAS),
)


def main() -> None:
    for cell in CELLS:
        print(f"{cell}: {100 * cell.share_decided(40, 200):.1f} %", flush=True)


if __name__ == "__main__":
    main()
