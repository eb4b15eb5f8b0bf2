"""The spread of one sample: its interval, and the verdict on a claim that is just not so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hostctl.metrology.rounded.risks import shared_risks
from hostctl.metrology.rounded.rounding import spread_from
from promised.cells import Found, Places
from promised.studies import Shape, Zero, spans

CONFIDENCE = 0.95
RISK = 0.05


@dataclass(frozen=True, slots=True)
class SpreadCell:
    """Studies of one shape; sigma of a setting in graduations."""

    shape: Shape
    sigma: float

    @property
    def label(self) -> tuple[str, ...]:
        """From what readings count, how many, and sigma."""
        return (self.shape.zero, str(self.shape), f"{self.sigma:g}")

    @property
    def places(self) -> Sequence[Places]:
        """Of the one sample there is."""
        return [(place,) for place in self.shape.places]

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """Chances of readings as close, and as wide, at the true sigma."""
        shape = self.shape
        read = shape.read(rng, self.sigma, [place for (place,) in places])
        narrow, wide = shape.many(read).tails(max(self.sigma * shape.of_value, 0.1))
        upper, lower = end_risks(shape, spans(read))

        def product(i: int) -> Mapping[str, bool]:
            evidence = shape.evidence(read[i])
            return {
                "interval": self.sigma not in spread_from(evidence, CONFIDENCE).interval,
                "meets": evidence.upper(RISK) <= self.sigma,
                "does not meet": evidence.lower(RISK) >= self.sigma,
            }

        chances = {
            "interval": [(narrow, upper), (wide, lower)],
            "meets": [(narrow, RISK)],
            "does not meet": [(wide, RISK)],
        }
        return Found(chances, product)


def end_risks(
    shape: Shape, span: np.ndarray[tuple[int, ...], np.dtype[np.int64]]
) -> tuple[np.ndarray, np.ndarray]:
    """Of each end of each study's interval: one-sided where all are alike, none below on two."""
    risks = shared_risks(shape.freedom, CONFIDENCE, shape.blocks)
    upper = np.where(span == 0, 1.0 - CONFIDENCE, risks.upper)
    lower = np.where(span < 2, -1.0, risks.lower)
    return upper, lower


def _shapes() -> list[tuple[Shape, tuple[float, ...]]]:
    fine = (0.1, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 2.0, 5.0)
    some = (0.2, 0.3, 0.5, 0.7, 1.0, 3.0)
    few = (0.2, 0.4, 0.7, 1.2, 3.0)
    shapes = [(Shape(n), fine) for n in (2, 3, 4, 6, 10, 20, 50, 100)]
    shapes += [
        (Shape(n, blocks), some) for n, blocks in ((2, 6), (4, 3), (6, 2), (6, 6), (21, 2), (5, 4))
    ]
    zeros: tuple[Zero, ...] = ("bezel", "subtracted", "previous")
    for zero in zeros:
        shapes += [
            (Shape(n, blocks, zero), few)
            for n, blocks in ((2, 1), (5, 1), (12, 1), (30, 1), (4, 3))
        ]
    return shapes


# Where an interval of these sizes has been found to cover least, between the sigmas above.
_LOWS = ((3, 1.08), (4, 3.0), (5, 2.15), (10, 0.92), (10, 0.25), (20, 0.35), (100, 0.25))

CELLS = [SpreadCell(shape, sigma) for shape, sigmas in _shapes() for sigma in sigmas]
CELLS += [SpreadCell(Shape(n), sigma) for n, sigma in _LOWS]
CELLS += [SpreadCell(Shape(n, 1, "previous"), 1.5) for n in (5, 8)]
