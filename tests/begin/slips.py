"""One wrong answer: at which question, and how it is wrong."""

from dataclasses import dataclass
from typing import Literal

from hostctl.drafts.question import Question

How = Literal["other", "not done", "wrongly", "back", "leaves", "calls off", "stops"]
HANDS = ("bare.indicator_off", "bare.bed_down", "mount.on", "mark.made", "height.bed_up", "turn.")
"""Where these questions begin like that, something is done by hand first."""
TURNS = ("bare.bed_down", "height.bed_up", "turn.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """At the question asked as the n-th, counted from 1."""

    at: int
    how: How = "other"
    """other: another answer than the right one. not done: said to be done, and it was not.
    wrongly: screws turned the other way. back: to the answer before. leaves, and comes again.
    calls off: at the countdown. stops: in the motion."""
    which: int = 0
    """Which of several wrong answers."""


def ways_to_err(question: Question) -> list[How]:
    """What can go wrong at this question; what is likelier comes more than once."""
    hows: list[How] = ["back", "leaves"]
    if question.kind != "choice" or len(question.ways) > 1:
        hows += ["other"] * 6
    if question.key.startswith(HANDS):
        hows += ["not done"] * 3
    if question.key.startswith(TURNS):
        hows += ["wrongly"] * 3
    if [way.word for way in question.ways] == ["go"]:
        hows += ["calls off", "stops", "stops"]
    return hows


def numbers_instead(right: float, which: int) -> str:
    """A number that was misread, mistyped or confused."""
    wrongs = (
        -right if right else 1.0,
        right + 1,
        right * 10,
        right - 1,
        right + 0.1,
        right / 10,
        right + 5,
        right - 3,
        right - 0.1,
        right + 0.5,
    )
    return f"{wrongs[which % len(wrongs)]:.4g}"
