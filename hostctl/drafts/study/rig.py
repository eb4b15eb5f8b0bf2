"""What is asked about a rig check: where, and how often."""

from hostctl.config.machine import Machine
from hostctl.drafts.question import Question, Way
from hostctl.drafts.trade_words import meanings
from hostctl.metrology.claims.planning import precision_of_sd

_USUAL, _MOST = 20, 200


def rig_point(machine: Machine) -> Question:
    """One is enough."""
    return Question(
        key="points",
        text="At which point of the bed?",
        why="One is enough: the spread is the rig's, not the bed's.",
        kind="choice",
        ways=tuple(
            Way(word=point.name, text=f"x {point.x_mm:g}, y {point.y_mm:g} mm", value=point.name)
            for point in machine.points
        ),
        suggested=machine.points[0].name,
        words=meanings("point"),
    )


def rig_trials() -> Question:
    """With what each number tells."""
    doubts = ", ".join(
        f"{trials} to about {100 * precision_of_sd(trials).relative_sd:.0f} %"
        for trials in (10, _USUAL, 50)
    )
    return Question(
        key="trials",
        text="How often is it read?",
        why=f"So many readings tell the rig's own spread: {doubts} (JCGM 100:2008, table E.1).",
        kind="whole",
        least=2,
        most=_MOST,
        suggested=str(_USUAL),
        words=meanings("spread", "rig"),
    )
