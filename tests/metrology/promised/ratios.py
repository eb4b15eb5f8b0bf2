"""The ratio of two spreads: its interval, and whether they differ where they don't."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.comparison.spread_ratio import spread_ratio
from promised import boxes
from promised.cells import Found, Places
from promised.studies import Graduations, Place, Shape

_END = 0.025
_AMID, _BETWEEN, _EDGE = (0.0,), (0.25,), (0.4999,)
_PLACES: Sequence[Places] = (
    *((_AMID, _AMID), (_AMID, _EDGE), (_EDGE, _AMID), (_EDGE, _EDGE)),
    (_BETWEEN, _BETWEEN),
)


@dataclass(frozen=True, slots=True)
class RatioCell:
    """sigma: of the second's setting.  ratio: of the first's to it.  rig_sigma: 0 without rig."""

    first: Shape
    second: Shape
    sigma: float
    ratio: float
    rig_size: int = 0
    rig_sigma: float = 0.0

    @property
    def label(self) -> tuple[str, ...]:
        """Sizes, the second's sigma, the ratio, the rig check."""
        rig = f"{self.rig_size}, {self.rig_sigma:g}" if self.rig_size else "-"
        zero = self.first.zero
        sizes = f"{self.first} : {self.second}"
        return (zero, sizes, f"{self.sigma:g}", f"{self.ratio:g}", rig)

    @property
    def places(self) -> Sequence[Places]:
        """Of the first, and of the second, where the rig's are too."""
        return _PLACES

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """Chances as `comparison.spread_ratio` has them, at the true ratio."""
        of_first, of_second = zip(*places, strict=True)
        above = math.hypot(self.sigma * self.ratio, self.rig_sigma)
        below = math.hypot(self.sigma, self.rig_sigma)
        first = self.first.read(rng, above, of_first)
        second = self.second.read(rng, below, of_second)
        check = self._check(rng, of_second)
        ones, others = boxes.boxes_of(self.first, first), boxes.boxes_of(self.second, second)
        rig = None if check is None else boxes.boxes_of(Shape(self.rig_size), check)
        ends = [
            (boxes.ratio_is_above(ones, others, rig, self.ratio), _END),
            (boxes.ratio_is_below(ones, others, rig, self.ratio), _END),
        ]

        def product(i: int) -> Mapping[str, bool]:
            found = spread_ratio(
                self.first.evidence(first[i]),
                self.second.evidence(second[i]),
                rig=None if check is None else Shape(self.rig_size).evidence(check[i]),
            )
            if self.ratio == 1.0:
                return {"interval": self.ratio not in found.interval, "differ": found.differs}
            return {"interval": self.ratio not in found.interval}

        chances = {"interval": ends, "differ": ends} if self.ratio == 1.0 else {"interval": ends}
        return Found(chances, product)

    def _check(self, rng: np.random.Generator, places: Sequence[Place]) -> Graduations | None:
        if not self.rig_size:
            return None
        return Shape(self.rig_size).read(rng, self.rig_sigma, places)


def _cells() -> list[RatioCell]:
    pairs = [
        (Shape(3), Shape(3)),
        (Shape(6), Shape(12)),
        (Shape(20), Shape(20)),
        (Shape(100), Shape(30)),
        (Shape(4, 3), Shape(4, 3)),
    ]
    cells = [
        RatioCell(first, second, sigma, 1.0)
        for first, second in pairs
        for sigma in (0.2, 0.4, 0.7, 1.0, 3.0)
    ]
    cells += [
        RatioCell(first, second, sigma, ratio)
        for first, second in pairs
        for sigma in (0.3, 1.0)
        for ratio in (1.5, 3.0)
    ]
    cells += [
        RatioCell(Shape(12, 1, zero), Shape(12, 1, zero), sigma, 1.0)
        for zero in ("bezel", "previous")
        for sigma in (0.3, 1.0)
    ]
    return cells + [
        RatioCell(Shape(12), Shape(12), sigma, ratio, 12, share * sigma)
        for sigma in (0.4, 2.0)
        for ratio in (1.5, 3.0)
        for share in (0.3, 1.0)
    ]


CELLS = _cells()
