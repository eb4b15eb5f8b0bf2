"""How far a levelling had come, for whoever goes on with it."""

from hostctl.config.grid import level_of, level_points
from hostctl.config.study import Study
from hostctl.run.procedures.levelling.rounds import Rounds
from hostctl.run.procedures.levelling.turns import TURN, levelled
from hostctl.run.procedures.procedure import SoFar


def came_to(study: Study, so_far: SoFar, lost: int) -> str:
    """`Round 2 was being measured: 4 of 9 readings.`; empty of another study, or at its beginning.

    lost: so many readings of it are taken anew, because all axes home first.
    """
    level, told = level_of(study), levelled(so_far.decisions)
    if level is None:
        return ""
    points, most = level_points(study), level.most_rounds
    rounds = Rounds(points=points, passes=study.trials, most=most, zeros=True)
    number = len(told) + 1
    block = rounds.measured(number)
    read = sum(at == block and trial > 0 for at, trial in so_far.kept)
    if read:
        anew = " Homing comes first, so they are taken anew." if lost else ""
        return f"Round {number} was being measured: {read} of {rounds.trials} readings.{anew}"
    if not told:
        return ""
    if told[-1].data["verdict"] == TURN:
        return (
            f"Round {number - 1} was measured and its screws were being turned: the bed is "
            "measured anew."
        )
    return f"Round {number - 1} was measured and judged."
