"""How a levelling's rounds are numbered: measured blocks are odd, blocks of turns even.

Of round r block 2r - 1 is measured: trial 0 with the plunger hanging free, then all points there
and back as often as there are passes, at last the first point once more. In block 2r each screw
that is to be turned is a trial; in the last one all axes home.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from hostctl.run.procedures.procedure import SoFar
from hostctl.run.record.spots import Spot

METHOD = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """The numbering of one levelling. zeros: whether a free plunger is read in each round."""

    points: Sequence[str]
    passes: int
    most: int
    zeros: bool

    @staticmethod
    def measured(number: int) -> int:
        """The block in which round `number` is measured."""
        return 2 * number - 1

    @staticmethod
    def turning(number: int) -> int:
        """The block in which its screws are turned."""
        return 2 * number

    @property
    def warming(self) -> int:
        """The block in which a warm bed is looked at until it is still."""
        return 2 * self.most + 3

    def is_measured(self, block: int) -> bool:
        """Whether heights are read in this block."""
        return block % 2 == 1 and block != self.warming

    @property
    def order(self) -> list[str]:
        """The points of trials 1, 2, … of a measured block."""
        there, back = list(self.points), list(reversed(self.points))
        passes = [there if number % 2 == 0 else back for number in range(self.passes)]
        return [point for each in passes for point in each] + there[:1]

    @property
    def trials(self) -> int:
        """How many a measured block has, the free plunger left out."""
        return len(self.points) * self.passes + 1

    def point_of(self, trial: int) -> str:
        """Where a trial of a measured block reads; the free plunger hangs over the first point."""
        return self.order[trial - 1] if trial else self.points[0]

    def open_reading(self, number: int, so_far: SoFar) -> int | None:
        """The trial of a round that is to be read next; None: it is measured."""
        block = self.measured(number)
        trials = range(0 if self.zeros else 1, self.trials + 1)
        return next((trial for trial in trials if (block, trial) not in so_far.done), None)

    def last_read(self, number: int, so_far: SoFar) -> Spot | None:
        """The reading of a round that was kept last."""
        read = [spot for spot in so_far.kept if spot[0] == self.measured(number) and spot[1]]
        return read[-1] if read else None

    def stood_still_since(self, number: int, so_far: SoFar) -> bool:
        """Whether the run stood still since a round was measured: hands may have turned screws."""
        last = self.last_read(number, so_far)
        return last is None or last not in so_far.since_break

    def is_turned(self, number: int, turns: int, so_far: SoFar) -> bool:
        """Whether all its turns were made, and homing after them: nothing came between."""
        trials = range(1, turns + 2)
        return all((self.turning(number), trial) in so_far.done for trial in trials)
