"""How far turning has moved the screws, the turn too in which the run stood still."""

from collections.abc import Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """The turns of one round, as raises at each support, mm.

    heights: as the bed was measured before them.  done: of those made for certain.  begun: of the
    one in which the run stood still, were it made; 0 elsewhere.
    """

    heights: Heights
    done: Floats
    begun: Floats


def turned_in(
    number: int,
    heights: Heights,
    supports: "Sequence[BedScrew | Point]",
    rounds: Rounds,
    so_far: SoFar,
) -> Turned:
    """The turns of round `number`, before which the bed was measured like this."""
    decision = levelled(so_far.decisions)[number - 1]
    turns = turns_of(decision) if decision.data["verdict"] == Verdict.TURN else []
    block = rounds.turning(number)
    done = [turn for trial, turn in enumerate(turns, 1) if (block, trial) in so_far.done]
    begun = [turn for turn in turns if turn not in done][:1]
    return Turned(heights=heights, done=_raises(done, supports), begun=_raises(begun, supports))


def made_mm(
    turned: Sequence[Turned], now: Heights, supports: "Sequence[BedScrew | Point]"
) -> Floats:
    """By how much the turns of these rounds have raised each support. now: as measured after them.

    How much was made of a turn in which the run stood still is told by the next round that measured
    the same points: without one of them a soft plate gives another plane.
    """
    made = [one.done for one in turned]
    measured = [*(one.heights for one in turned), now]
    for place in reversed(range(len(turned))):
        one = turned[place]
        if one.begun.any():
            later = range(place + 1, len(measured))
            alike = (n for n in later if measured[n].names == one.heights.names)
            after = next(alike, len(turned))
            since = np.sum(made[place:after], axis=0)
            share = _share(one, since, measured[after], supports)
            made[place] = one.done + share * one.begun
    return np.asarray(np.sum([np.zeros(len(supports)), *made], axis=0))


def _share(
    one: Turned, since: Floats, after: Heights, supports: "Sequence[BedScrew | Point]"
) -> float:
    xs, ys = [each.x_mm for each in supports], [each.y_mm for each in supports]
    first, second = plane_of(one.heights), plane_of(after)
    arms = first.arms(xs, ys)
    moved = second.arms(xs, ys) @ second.coefficients - arms @ first.coefficients
    return share_made(arms, moved, since, one.begun)


def _raises(turns: Sequence[Turn], supports: "Sequence[BedScrew | Point]") -> Floats:
    of = {turn.screw: turn.raise_mm for turn in turns}
    return np.array([of.get(one.name, 0.0) for one in supports])
