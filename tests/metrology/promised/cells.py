"""A cell of the table: studies of one kind, and how often what is said of them is wrong."""

import math
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from promised.studies import Place

SEED = 20_261_128
STUDIES = 10_000
SEARCHED = 1_500
COMPARED = 20  # studies of each cell that the product's own functions are asked about
LIMITS = {"interval": 0.06, "meets": 0.05, "does not meet": 0.05, "differ": 0.05}
ERRORS = 3.5
_NEAR = 0.03  # of a risk, within which two ways of summing may come to different sides

Floats: TypeAlias = NDArray[np.float64]
Places: TypeAlias = tuple[Place, ...]
"""Of the means of each sample of a study: one, or two that are compared."""

Chances: TypeAlias = Mapping[str, Sequence[tuple[Floats, float | Floats]]]
"""For each statement, chances and risks: it is wrong of a study where one is at most its risk."""


@dataclass(frozen=True, slots=True)
class Found:
    """What was simulated. product: by the product's own functions, which are wrong of study i."""

    chances: Chances
    product: Callable[[int], Mapping[str, bool]]

    def wrong(self, statement: str) -> NDArray[np.bool_]:
        """Of which studies it is wrong."""
        return np.any([chance <= risk for chance, risk in self.chances[statement]], axis=0)

    def near(self, statement: str) -> NDArray[np.bool_]:
        """Where a chance is so close to its risk that it may be found on the other side."""
        return np.any(
            [abs(chance - risk) < _NEAR * risk for chance, risk in self.chances[statement]], axis=0
        )


class Cell(Protocol):
    """label: what tells it from the others of its part.  places: among which the worst is."""

    @property
    def label(self) -> tuple[str, ...]: ...

    @property
    def places(self) -> Sequence[Places]: ...

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """places: of each study."""
        ...


@dataclass(frozen=True, slots=True)
class Rate:
    """How often a statement is wrong, in parts of one."""

    statement: str
    anywhere: float
    worst: float
    places: Places
    studies: int

    @property
    def fails(self) -> bool:
        """Whether one of the two does."""
        return self.misses(self.anywhere) or self.misses(self.worst)

    def misses(self, share: float) -> bool:
        """Whether a share is over the limit by more than chance makes it."""
        limit = LIMITS[self.statement]
        return share > limit + ERRORS * math.sqrt(limit * (1.0 - limit) / self.studies)


@dataclass(frozen=True, slots=True)
class Row:
    """A cell judged. compared, apart: studies asked of the product, and how many came out other."""

    label: tuple[str, ...]
    rates: tuple[Rate, ...]
    compared: int
    apart: int


def judged(part: str, cell: Cell, studies: int = STUDIES) -> Row:
    """The cell with means anywhere, and at the worst places: searched with one seed, judged with
    another."""
    name = zlib.crc32("|".join((part, *cell.label)).encode())
    searched = _simulated(cell, [SEED, 1, name], cell.places, min(SEARCHED, studies))
    worst = {
        statement: cell.places[int(_rates(searched, statement, len(cell.places)).argmax())]
        for statement in searched.chances
    }
    anywhere: Places = tuple(None for _ in cell.places[0])
    kinds = [anywhere, *sorted(set(worst.values()))]
    found = _simulated(cell, [SEED, 2, name], kinds, studies)
    rates = []
    for statement, places in worst.items():
        by_kind = _rates(found, statement, len(kinds)).tolist()
        at_worst = by_kind[kinds.index(places)]
        rates.append(Rate(statement, by_kind[0], at_worst, places, studies))
    return Row(cell.label, tuple(rates), COMPARED, _apart(found, studies * len(kinds)))


def _simulated(cell: Cell, seed: Sequence[int], kinds: Sequence[Places], studies: int) -> Found:
    """So many studies of each kind, in turn."""
    places = [kind for kind in kinds for _ in range(studies)]
    return cell.simulate(np.random.default_rng(seed), places)


def _rates(found: Found, statement: str, kinds: int) -> Floats:
    return np.asarray(found.wrong(statement).reshape(kinds, -1).mean(axis=1))


def _apart(found: Found, studies: int) -> int:
    """How many of some studies come out other by the product's own functions."""
    apart = 0
    for i in np.linspace(0, studies - 1, COMPARED).astype(int).tolist():
        said = found.product(i)
        apart += any(
            said[statement] != found.wrong(statement)[i] and not found.near(statement)[i]
            for statement in said
        )
    return apart
