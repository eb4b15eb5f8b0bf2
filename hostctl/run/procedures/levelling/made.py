"""How far turning has moved the screws, the turn too in which the run stood still."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.levelling.heights import Heights
from hostctl.metrology.levelling.plane import plane_of
from hostctl.metrology.levelling.standing import Verdict
from hostctl.metrology.levelling.twist import share_made
from hostctl.run.procedures.levelling.rounds import Rounds
from hostctl.run.procedures.levelling.turns import Turn, levelled, turns_of
from hostctl.run.procedures.procedure import SoFar

if TYPE_CHECKING:
    from hostctl.config.machine import BedScrew, Point

Floats: TypeAlias = NDArray[np.float64]


def raised_mm(
    number: int,
    supports: "Sequence[BedScrew | Point]",
    rounds: Rounds,
    so_far: SoFar,
    before: Heights,
    after: Heights,
) -> Floats:
    """By how much the turns of this round raised the bed at each support; 0 without a turn.

    before, after: as the bed was measured on either side of them. They tell how much of a turn was
    made in which the run stood still.
    """
    decision = levelled(so_far.decisions)[number - 1]
    turns = turns_of(decision) if decision.data["verdict"] == Verdict.TURN else []
    block = rounds.turning(number)
    done = [turn for trial, turn in enumerate(turns, 1) if (block, trial) in so_far.done]
    made, open_ = _raises(done, supports), [turn for turn in turns if turn not in done]
    if not open_:
        return made
    begun = _raises(open_[:1], supports)
    xs, ys = [one.x_mm for one in supports], [one.y_mm for one in supports]
    first, second = plane_of(before), plane_of(after)
    arms = first.arms(xs, ys)
    moved = second.arms(xs, ys) @ second.coefficients - arms @ first.coefficients
    return np.asarray(made + share_made(arms, moved, made, begun) * begun)


def _raises(turns: Sequence[Turn], supports: "Sequence[BedScrew | Point]") -> Floats:
    of = {turn.screw: turn.raise_mm for turn in turns}
    return np.array([of.get(one.name, 0.0) for one in supports])
