"""The readings of one round as heights of the bed."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from hostctl.config.parts.level import HANGS_MM
from hostctl.records import Reading
from hostctl.run.procedures.levelling.reach import Reach
from hostctl.run.procedures.levelling.rounds import Rounds
from hostctl.run.procedures.procedure import SoFar

FEWEST_POINTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """Heights above the machine's z = 0 as read, mm, up positive.

    passes: a row a pass, a column a point of `names`; nan where nothing was met.  unmet: points
    where the plunger hung free all the time, or that were skipped.  zero_mm: what the free plunger
    shows.  sign: -1 where the number falls as the bed comes up.  gainsaid: they tell it, and it is
    not what was said.
    """

    names: tuple[str, ...]
    passes: tuple[tuple[float, ...], ...]
    closing_mm: float | None
    unmet: tuple[str, ...]
    resolution_mm: float
    zero_mm: float
    sign: int
    gainsaid: bool

    @property
    def enough(self) -> bool:
        """Whether there are points for a plane."""
        return len(self.names) >= FEWEST_POINTS

    def over(self, names: Sequence[str]) -> "Read":
        """The same of some of its points alone."""
        places = [self.names.index(name) for name in names]
        return replace(
            self,
            names=tuple(names),
            passes=tuple(tuple(one[place] for place in places) for one in self.passes),
            closing_mm=self.closing_mm if self.names[0] in names else None,
        )

    def mean_mm(self, name: str) -> float:
        """Of one point that was met."""
        place = self.names.index(name)
        return fmean(one[place] for one in self.passes if not math.isnan(one[place]))


def read_of(number: int, rounds: Rounds, reach: Reach, so_far: SoFar) -> Read:
    """What was read in round `number`."""
    block = rounds.measured(number)
    of = {trial: kept.reading for (at, trial), kept in so_far.kept.items() if at == block}
    heights_mm = _Heights(of, reach, so_far)
    columns = heights_mm.by_point(_trials(rounds))
    met = {name: one for name, one in columns.items() if _is_met(one)}
    last_mm = heights_mm.of(rounds.trials)
    closes = rounds.points[0] in met and not math.isnan(last_mm)
    return Read(
        names=tuple(met),
        passes=tuple(tuple(column[k] for column in met.values()) for k in range(rounds.passes)),
        closing_mm=last_mm if closes else None,
        unmet=tuple(name for name in columns if name not in met),
        resolution_mm=max((reading.resolution_mm for reading in of.values()), default=0.0),
        zero_mm=heights_mm.zero_mm,
        sign=heights_mm.sign,
        gainsaid=heights_mm.gainsaid,
    )


class _Heights:
    """What the readings of a round say, trial by trial; nan where they tell no height."""

    def __init__(self, readings: Mapping[int, Reading], reach: Reach, so_far: SoFar) -> None:
        self._readings = readings
        self._reach = reach
        self.zero_mm = readings[0].value_mm if 0 in readings else 0.0
        said = 0 if so_far.grows_pressed is None else 1 if so_far.grows_pressed else -1
        told = self._told() if reach.lowest_mm is not None else 1
        self.sign = told or said or 1
        self.gainsaid = reach.lowest_mm is not None and bool(told and said and told != said)

    def _told(self) -> int:
        """Which way the number goes, by most of the readings away from zero; 0: they can't tell."""
        moved_mm = [one.value_mm - self.zero_mm for trial, one in self._readings.items() if trial]
        ways = sum(math.copysign(1, mm) for mm in moved_mm if abs(mm) >= HANGS_MM)
        return (ways > 0) - (ways < 0)

    def of(self, trial: int) -> float:
        """mm above the machine's z = 0; nan where nothing was met."""
        if trial not in self._readings:
            return math.nan
        pressed_mm = self.sign * (self._readings[trial].value_mm - self.zero_mm)
        hangs = self._reach.lowest_mm is not None and pressed_mm < HANGS_MM
        return math.nan if hangs else pressed_mm - self._reach.press_mm

    def by_point(self, trials: Mapping[str, Sequence[int]]) -> dict[str, list[float]]:
        """The heights of each point, one a pass. trials: those that read it."""
        return {point: [self.of(trial) for trial in of] for point, of in trials.items()}


def _is_met(heights_mm: Sequence[float]) -> bool:
    return not all(math.isnan(one) for one in heights_mm)


def _trials(rounds: Rounds) -> Mapping[str, list[int]]:
    """The trials that read each point, one a pass."""
    order = rounds.order[:-1]
    return {
        point: [trial for trial, name in enumerate(order, 1) if name == point]
        for point in rounds.points
    }
