"""Simulated studies by a tie: what is said of the mean gap, and what a check of the tie says.

A touch meets the first step at or below where the nozzle touches, and the plunger's reading is
rounded to the graduation; either scatters by itself. By feelers the step is from one blade to the
next; by a gauge block there is none. Phases: where within a step and a graduation the truth lies;
`edge` puts both at the same end, where nothing averages out.
"""

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from hostctl.metrology.basis.confidence_box import ConfidenceBox, chance_difference_above
from hostctl.metrology.rounded.mean import MeanEvidence, mean_of_readings
from hostctl.metrology.trueness.constant import TieConstant, TieInterval, tie_constant
from hostctl.metrology.trueness.mean_gap import mean_gap
from hostctl.metrology.trueness.standing import standing
from hostctl.run.procedures.tie_shift import Interval, Shift, shift_between
from promised.cells import ERRORS, SEED, Floats

STUDIES = 2_000
GRADUATION = 0.01  # mm
SETTINGS = 6
AFTER = 3  # touches of a check
MARGIN = 0.03
_END = 0.025
FARTHEST = 0.1  # bias
LIMITS = {
    "interval": 0.06,
    "on target": 0.05,
    "off target": 0.05,
    "correction": 0.05,
    "false alarm": 0.05,
    "not noticed": 0.05,
}
EDGE = 0.001, 0.999
"""Where contact is met within a step, and the reading within a graduation."""

STEPS = {"touch": 0.01, "feelers": 0.05, "gauge block": 0.0}

By = Literal["touch", "feelers", "gauge block"]
Phase = Literal["anywhere", "edge"]
Pattern = tuple[tuple[int, int], ...]
"""Lower and upper ends of intervals above the lowest, in nanometres."""


@dataclass(frozen=True, slots=True)
class TieCell:
    """touch, read: the scatter of where contact is met and of its reading, mm; settings: theirs.
    beyond: the standard deviation of what repeating can't show, and what is stated for it."""

    by: By
    n: int
    touch: float
    read: float
    phase: Phase = "anywhere"
    beyond: float = 0.0
    settings: float = 0.01

    @property
    def label(self) -> tuple[str, ...]:
        """As in the table."""
        figures = (self.touch, self.read, self.beyond, self.settings)
        return (self.by, str(self.n), *(f"{1000 * figure:g}" for figure in figures), self.phase)


@dataclass(frozen=True, slots=True)
class TieRow:
    """Parts of one in which a statement is wrong."""

    label: tuple[str, ...]
    wrong: dict[str, float]
    studies: int

    def misses(self, statement: str) -> bool:
        """Whether it is over its limit by more than chance makes it."""
        limit = LIMITS[statement]
        return self.wrong[statement] > limit + ERRORS * math.sqrt(
            limit * (1 - limit) / self.studies
        )

    @property
    def fails(self) -> bool:
        """Whether any does."""
        return any(map(self.misses, self.wrong))


@dataclass(frozen=True, slots=True)
class Study:
    """ends: of each touch.  constant, gap: the true ones.  scatter: of its settings.  beyond: as
    the cell's."""

    ends: Floats
    constant: float
    gap: float
    scatter: Floats
    beyond: float


def judged(cell: TieCell, studies: int = STUDIES) -> TieRow:
    """As many studies of it."""
    rng = np.random.default_rng([SEED, 4, zlib.crc32("|".join(cell.label).encode())])
    wrong = dict.fromkeys(LIMITS, 0)
    for study in drawn(cell, rng, studies):
        for name, is_wrong in wrong_of(study).items():
            wrong[name] += is_wrong
    shares = {name: count / studies for name, count in wrong.items()}
    return TieRow(cell.label, shares | _checks(cell, rng, studies), studies)


def drawn(cell: TieCell, rng: np.random.Generator, studies: int) -> list[Study]:
    """Studies with any bias."""
    truth, ends = _touches(cell, rng, np.zeros((studies, 2, cell.n)))
    gaps = rng.uniform(0.1 - FARTHEST, 0.1 + FARTHEST, studies)
    really = truth + cell.beyond * rng.standard_normal(studies)
    scatter = cell.settings * rng.standard_normal((studies, SETTINGS))
    return [
        Study(*study, cell.beyond)
        for study in zip(ends, really.tolist(), gaps.tolist(), scatter, strict=True)
    ]


def wrong_by_product(study: Study) -> dict[str, bool]:
    """Which statements are wrong, by the functions that `analyse` uses."""
    tie = tie_constant(
        [TieInterval(low, high) for low, high in study.ends.tolist()], beyond=study.beyond
    )
    read = GRADUATION * np.rint((study.constant - study.gap - study.scatter) / GRADUATION)
    mean = mean_of_readings((tie.value - read).tolist(), resolution=GRADUATION)
    on, narrow, wide = (
        mean_gap(tie, mean, target=study.gap + away * 1.000001) for away in (0.0, MARGIN, -MARGIN)
    )
    missed = 0.0 not in on.off_interval
    said = [standing(found.off_interval, MARGIN) for found in (narrow, wide)]
    return {
        "interval": missed,
        "correction": 0.0 not in on.correction_interval,
        "off target": standing(on.off_interval, MARGIN) == "off target",
        "on target": "on target" in said,
    }


def _touches(cell: TieCell, rng: np.random.Generator, moved: Floats) -> tuple[Floats, Floats]:
    """The constant before anything moved, and both ends of every touch, by study.

    moved: by study, how far nozzle and reading were moved before each touch.
    """
    studies, _, n = moved.shape
    step = STEPS[cell.by]
    contact, reading = (
        rng.uniform(0.0, 1.0, studies) if cell.phase == "anywhere" else np.full(studies, at)
        for at in EDGE
    )
    contact, reading = step * contact, GRADUATION * (reading - 0.5)
    touched = contact[:, None] + moved[:, 0] + cell.touch * rng.standard_normal((studies, n))
    read = reading[:, None] + moved[:, 1] + cell.read * rng.standard_normal((studies, n))
    if not step:
        read, touched = read - touched, np.zeros_like(touched)
    closed = step * np.floor(touched / step) if step else touched
    rounded = GRADUATION * np.rint(read / GRADUATION)
    half = 0.5 * GRADUATION
    ends = np.stack([rounded - closed - step - half, rounded - closed + half], axis=2)
    return reading - contact, ends


def wrong_of(study: Study) -> dict[str, bool]:
    """The same, faster.

    By the chances whose quantiles the interval's ends are: a limit is on the wrong side of the
    truth where the chance there is below its risk. What is alike but for its place is asked once.
    """
    start = float(study.ends[:, 0].min())
    above_start = np.rint(1e6 * (study.ends - start)).astype(int)
    pattern = tuple(sorted((low, high) for low, high in above_start.tolist()))
    tie = _tie(pattern, study.beyond)
    read = np.rint((study.constant - study.gap - study.scatter) / GRADUATION).astype(int)
    first = int(read.max())
    mean = _mean(tuple(sorted((first - read).tolist()))).box
    truth = study.gap - (start + tie.value - GRADUATION * first)
    error = _error(pattern, study.beyond)

    def above(limit: float) -> bool:
        """The upper limit is below this."""
        return chance_difference_above(mean.upper, error.lower, limit) < _END

    def below(limit: float) -> bool:
        """The lower limit is above this."""
        return 1.0 - chance_difference_above(mean.lower, error.upper, limit) < _END

    too_low, too_high = above(truth), below(truth)
    missed = too_low or too_high
    within = missed and below(truth - MARGIN) and above(truth + MARGIN)
    on_target = (too_low and below(truth - 2.0 * MARGIN)) or (
        too_high and above(truth + 2.0 * MARGIN)
    )
    return {
        "interval": missed,
        "correction": missed,
        "off target": missed and not within,
        "on target": on_target,
    }


@lru_cache(maxsize=50_000)
def _tie(pattern: Pattern, beyond: float) -> TieConstant:
    return tie_constant([TieInterval(a / 1e6, b / 1e6) for a, b in pattern], beyond=beyond)


@lru_cache(maxsize=50_000)
def _mean(above: tuple[int, ...]) -> MeanEvidence:
    return mean_of_readings([GRADUATION * k for k in above], resolution=GRADUATION)


@lru_cache(maxsize=50_000)
def _error(pattern: Pattern, beyond: float) -> ConfidenceBox:
    return _tie(pattern, beyond).error.mirrored


def _checks(cell: TieCell, rng: np.random.Generator, studies: int) -> dict[str, float]:
    """A tie that did not move, and one whose nozzle or bezel was moved by twice the limit."""
    still = _both(cell, rng, studies, 0.0)
    alarms = [found.moved for found in still]
    far = 2.0 * float(np.median([found.limit_mm for found in still]))
    moved = [found for found in _both(cell, rng, studies, far) if 2.0 * found.limit_mm <= far]
    return {
        "false alarm": float(np.mean(alarms)),
        "not noticed": float(np.mean([not found.moved for found in moved])),
    }


def _both(cell: TieCell, rng: np.random.Generator, studies: int, far: float) -> list[Shift]:
    """Before and after lie alike in step and graduation, but for what was moved in between."""
    by = np.zeros((studies, 2))
    by[np.arange(studies), rng.integers(0, 2, studies)] = far * rng.choice([-1.0, 1.0], studies)
    after = np.arange(cell.n + AFTER) >= cell.n
    _, ends = _touches(cell, rng, by[:, :, None] * after)
    return [_checked(one, cell.n) for one in ends.tolist()]


def _checked(ends: Sequence[Interval], n: int) -> Shift:
    """As a run checks its tie."""
    found = shift_between(ends[:n], ends[n:])
    assert found is not None
    return found


def cells_of(
    by: By, sizes: Sequence[int], scatters: Sequence[tuple[float, float]]
) -> list[TieCell]:
    """Anywhere as a workshop has it; at the edge with little beside the tie to hide its error."""
    return [
        cell
        for n in sizes
        for touch, read in scatters
        for cell in (
            TieCell(by, n, touch, read, "anywhere", 0.004, 0.01),
            TieCell(by, n, touch, read, "edge", 0.0, 0.003),
        )
    ]


CELLS = [
    *cells_of("touch", (2, 5, 10), [(5e-4, 5e-4), (0.01, 0.0)]),
    *cells_of("touch", (3,), [(0.003, 0.003), (0.0, 0.01), (0.03, 0.003)]),
    TieCell("touch", 5, 0.003, 0.003, "edge", 0.01, 0.003),
    *cells_of("feelers", (2, 3, 10), [(0.002, 0.002)]),
    *cells_of("feelers", (3,), [(0.03, 0.002)]),
    *cells_of("gauge block", (2, 3, 10), [(5e-4, 5e-4)]),
    *cells_of("gauge block", (3,), [(0.01, 0.003)]),
]
