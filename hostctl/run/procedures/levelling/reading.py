"""The readings of one round as heights of the bed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from hostctl.run.procedures.levelling.reach import HANGS_MM, Reach
from hostctl.run.procedures.levelling.rounds import Rounds
from hostctl.run.procedures.procedure import SoFar

FEWEST_POINTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """Heights above the machine's z = 0 as read, mm, up positive.

    passes: a row a pass, a column a point of `names`; nan where nothing was met.  unmet: points
    where the plunger hung free all the time, or that were skipped.  zero_mm: what the free plunger
    shows.  sign: -1 where the number falls as the bed comes up.
    """

    names: tuple[str, ...]
    passes: tuple[tuple[float, ...], ...]
    closing_mm: float | None
    unmet: tuple[str, ...]
    resolution_mm: float
    zero_mm: float
    sign: int

    @property
    def enough(self) -> bool:
        """Whether there are points for a plane."""
        return len(self.names) >= FEWEST_POINTS

    def mean_mm(self, name: str) -> float:
        """Of one point that was met."""
        place = self.names.index(name)
        return fmean(one[place] for one in self.passes if not math.isnan(one[place]))


def read_of(number: int, rounds: Rounds, reach: Reach, so_far: SoFar) -> Read:
    """What was read in round `number`."""
    block = rounds.measured(number)
    zero = so_far.kept.get((block, 0))
    zero_mm = zero.reading.value_mm if zero else 0.0
    sign = -1 if reach.lowest_mm is not None and so_far.grows_pressed is False else 1

    def height_mm(trial: int) -> float:
        kept = so_far.kept.get((block, trial))
        if kept is None:
            return math.nan
        pressed_mm = sign * (kept.reading.value_mm - zero_mm)
        hangs = reach.lowest_mm is not None and pressed_mm < HANGS_MM
        return math.nan if hangs else pressed_mm - reach.press_mm

    columns = [[height_mm(trial) for trial in trials] for trials in _trials(rounds)]
    met = [not all(math.isnan(one) for one in column) for column in columns]
    last_mm = height_mm(rounds.trials)
    names = list(zip(rounds.points, met, strict=True))
    found = [column for column, is_met in zip(columns, met, strict=True) if is_met]
    resolutions = [one.reading.resolution_mm for at, one in so_far.kept.items() if at[0] == block]
    return Read(
        names=tuple(name for name, is_met in names if is_met),
        passes=tuple(tuple(column[k] for column in found) for k in range(rounds.passes)),
        closing_mm=last_mm if met[0] and not math.isnan(last_mm) else None,
        unmet=tuple(name for name, is_met in names if not is_met),
        resolution_mm=max(resolutions, default=0.0),
        zero_mm=zero_mm,
        sign=sign,
    )


def _trials(rounds: Rounds) -> Sequence[list[int]]:
    """The trials that read each point, one a pass."""
    order = rounds.order[:-1]
    return [
        [trial for trial, name in enumerate(order, 1) if name == point] for point in rounds.points
    ]
