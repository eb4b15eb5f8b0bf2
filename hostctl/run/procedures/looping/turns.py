"""The order of a probe loop's touches, of which there may be ten thousand: a few bytes each."""

from array import array
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from hostctl.run.procedures.procedure import NO_OPERATOR, Trial
from hostctl.run.procedures.schedule import order_of, parts_of

if TYPE_CHECKING:
    from random import Random

    from hostctl.config.study import Study
    from hostctl.run.procedures.procedure import SoFar


class Turns:
    """Which point comes when. The same study and seed give the same order.

    `blocked`: the points in random order, all touches of a point together; `mixed`: all touches in
    one random order. Where the bed is warmed and cooled in turn, that holds within each phase.
    """

    def __init__(self, study: "Study", method: str, seed: int, *, zeros: bool) -> None:
        chance = order_of(seed)
        self._first = 0 if zeros else 1
        self._method = method
        self._points = [point for _, _, point in parts_of(study, [method], chance)]
        turns = _turns(study, len(self._points), chance, self._first)
        self._at = {
            block: array("I", (at for at, turn in enumerate(turns) if turn == block))
            for block in range(1, len(self._points) + 1)
        }

    def next(self, so_far: "SoFar", is_over: Callable[[int], bool]) -> Trial | None:
        """The first that is not done, of blocks that are not over before their count; None: all
        are.
        """
        upcoming = (trial for trial in self.open(so_far) if not is_over(trial.block))
        return min(upcoming, key=self._when, default=None)

    def open(self, so_far: "SoFar") -> list[Trial]:
        """The next trial of each block that is not finished, by block."""
        upcoming = []
        for block, at in self._at.items():
            trial = self._first + so_far.done.count(block)
            if trial - self._first < len(at):
                upcoming.append(self._trial(block, trial))
        return upcoming

    def _when(self, trial: Trial) -> int:
        return self._at[trial.block][trial.trial - self._first]

    def _trial(self, block: int, trial: int) -> Trial:
        return Trial(
            block=block,
            trial=trial,
            method=self._method,
            operator=NO_OPERATOR,
            point=self._points[block - 1],
        )


def _turns(study: "Study", blocks: int, chance: "Random", first: int) -> Sequence[int]:
    """The block of each touch."""
    turns: list[int] = []
    for touches in _phases(study, first):
        phase = [block for block in range(1, blocks + 1) for _ in range(touches)]
        if study.order == "mixed":
            chance.shuffle(phase)
        turns += phase
    return turns


def _phases(study: "Study", first: int) -> list[int]:
    """How many touches of each point come before the bed is warmed or cooled."""
    heat = study.loop.heat if study.loop else None
    if heat is None:
        return [study.trials + 1 - first]
    return [heat.warm_touches, heat.cool_touches] * heat.cycles
