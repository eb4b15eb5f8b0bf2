"""The schedule: every trial of a study in the order it is to be done. Pure and seeded.

The same study and seed give the same schedule, whatever happened in a run; so a run that stopped
goes on by it.
"""

from collections.abc import Sequence
from itertools import product
from random import Random
from typing import TYPE_CHECKING

from hostctl.config.study_kind import words_of
from hostctl.deeds import LayBlock, TakeBlock
from hostctl.records import Place
from hostctl.run.procedures.motions import BringAndRead, CarryPlungerOver, StepDeed
from hostctl.run.procedures.procedure import (
    NO_OPERATOR,
    Finished,
    Next,
    ProcedureParts,
    SoFar,
    Trial,
)

if TYPE_CHECKING:
    from hostctl.config.study import Study

Schedule = tuple[Trial, ...]


def parts_of(study: "Study", methods: Sequence[str], chance: Random) -> list[tuple[str, str, str]]:
    """Method, operator and point of each block, in their order."""
    parts = list(product(methods, study.operators or [NO_OPERATOR], study.points))
    chance.shuffle(parts)
    return parts


def order_of(seed: int) -> Random:
    """What the order of one run is drawn from."""
    return Random(f"order {seed}")


def schedule_of(study: "Study", methods: Sequence[str], seed: int, *, zeros: bool) -> Schedule:
    """All trials of `study`, in order. `blocked`: blocks in random order; `mixed`: all trials.

    A block (method x operator x point) has `study.trials` trials, and before them its zero,
    trial 0, if it takes any.
    """
    chance = order_of(seed)
    first = 0 if zeros else 1
    parts = parts_of(study, methods, chance)
    numbers = range(1, len(parts) + 1)
    turns = [number for number in numbers for _ in range(first, study.trials + 1)]
    if study.order == "mixed":
        chance.shuffle(turns)
    following = dict.fromkeys(numbers, first)
    trials = []
    for block in turns:
        method, operator, point = parts[block - 1]
        trials.append(
            Trial(
                block=block,
                trial=following[block],
                method=method,
                operator=operator,
                point=point,
            )
        )
        following[block] += 1
    return tuple(trials)


def begins_with_zero(study: "Study", *, gauge_has_own_zero: bool) -> bool:
    """Whether each block takes a zero of its own: unless the gauge's own is the datum, there is a
    tie, or its readings are only held against each other.
    """
    if not words_of(study.kind).takes_zeros:
        return False
    return study.reference != "gap" and not (gauge_has_own_zero and study.reference == "datum")


class Scheduled:
    """Goes through a schedule trial by trial; what was opened again comes before the rest."""

    def __init__(self, parts: ProcedureParts, methods: Sequence[str]) -> None:
        self._parts = parts
        schedule = schedule_of(parts.study, methods, parts.seed, zeros=parts.zeros)
        self._trials = {trial.spot: trial for trial in schedule}

    @staticmethod
    def most_trials(study: "Study") -> int:
        """Every method in every operator's hands at every point."""
        methods, hands = max(len(study.methods), 1), max(len(study.operators), 1)
        return methods * hands * len(study.points) * study.trials

    def next(self, so_far: SoFar) -> Next:
        """The first trial not yet done; of ten thousand it is found in half a millisecond."""
        return self.next_on_schedule(so_far)

    def next_on_schedule(self, so_far: SoFar) -> Trial | Finished:
        """As `next`, where the schedule alone decides."""
        open_ = (trial for spot, trial in self._trials.items() if spot not in so_far.done)
        return next(open_, Finished(reason="all trials are done"))

    def still_to_come(self, so_far: SoFar) -> Sequence[Trial]:
        """The last open trial of each block that has one, by block."""
        last = {spot[0]: trial for spot, trial in self._trials.items() if spot not in so_far.done}
        return [last[block] for block in sorted(last)]

    def zero_on_block(self, place: Place) -> tuple[StepDeed, ...]:
        """How a block's zero is read on the gauge block; empty for what is no such zero."""
        study = self._parts.study
        if place.trial > 0 or study.reference != "datum":
            return ()
        return (
            CarryPlungerOver(point=place.point),
            LayBlock(thick_mm=study.gauge.block_mm),
            BringAndRead(point=place.point),
            TakeBlock(),
        )
