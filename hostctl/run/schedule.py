"""The schedule: every trial of a study in the order it is to be done. Pure and seeded.

The same study and seed give the same schedule, whatever happened in a run; so a run that stopped
goes on by it. How far a screw is turned is drawn from the place in the study alone, for the same
reason.
"""

from dataclasses import dataclass
from itertools import product
from random import Random

from hostctl.config.study import Order, Reference, Study, StudyKind
from hostctl.records import Place

NO_OPERATOR = ""
"""Nobody's hands: a probe loop, or a rig check that names no operator."""

TURN_GRID_DEG = 15
"""Turns are told in multiples of this: finer can't be judged by eye."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One trial to be done. Trial 0 of a block is its zero."""

    block: int
    trial: int
    method: str
    operator: str
    point: str


Schedule = tuple[Trial, ...]


def schedule_of(study: Study, seed: int, *, gauge_has_own_zero: bool) -> Schedule:
    """All trials of `study`, in order. `blocked`: blocks in random order; `mixed`: all trials.

    A block (method x operator x point) has `study.trials` trials, and before them its zero,
    trial 0, unless the gauge's own zero is the datum.
    """
    chance = Random(f"order {seed}")
    first = 1 if gauge_has_own_zero and study.reference is Reference.DATUM else 0
    parts = list(product(_methods(study), study.operators or [NO_OPERATOR], study.points))
    chance.shuffle(parts)
    numbers = range(1, len(parts) + 1)
    turns = [number for number in numbers for _ in range(first, study.trials + 1)]
    if study.order is Order.MIXED:
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


def trials_of(study: Study) -> int:
    """How many readings it takes in all; the zeros are not counted."""
    hands = study.operators or [NO_OPERATOR]
    return len(_methods(study)) * len(hands) * len(study.points) * study.trials


def turn_away_deg(study: Study, seed: int, place: Place) -> int:
    """How far the screw is turned away before this setting, degrees; 0: the study turns none.

    Drawn evenly from the multiples of 15 in the study's range (or its lower end when there are
    none), anew for each attempt.
    """
    turn_away = study.cycle.turn_away
    if turn_away is None:
        return 0
    least = -(-turn_away.least_deg // TURN_GRID_DEG) * TURN_GRID_DEG
    choices = range(least, turn_away.most_deg + 1, TURN_GRID_DEG) or [turn_away.least_deg]
    which = f"{place.block} {place.round} {place.trial} {place.attempt}"
    return Random(f"turn {seed} {which}").choice(choices)


def _methods(study: Study) -> list[str]:
    match study.kind:
        case StudyKind.COMPARISON:
            return [method.name for method in study.methods]
        case StudyKind.RIG_CHECK | StudyKind.PROBE_LOOP:
            return [study.kind.value]
