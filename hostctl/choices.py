"""What a prompt with a choice may be answered: one of several, by a key of its own."""

from dataclasses import dataclass

from hostctl.deeds import (
    Deed,
    JoinByHand,
    JoinLamp,
    MeterLeads,
    PressPlunger,
    SayHeatAgain,
    WatchLamp,
    WatchLeads,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of the things that a prompt with a choice may be answered."""

    word: str
    """What it is called, as `lit`."""
    key: str
    """The key that says it: never Enter, and never one that says something else."""
    text: str
    """What it means, in a few words."""


DARK, LIT = "dark", "lit"
WITHIN, BEYOND = "within", "beyond"
SLACK, PULLED = "slack", "pulled"
GREW, FELL = "grew", "fell"
HEAT, COLD = "heat", "cold"

_LAMP = (
    Choice(word=DARK, key="d", text="dark, or no beep"),
    Choice(word=LIT, key="l", text="lit, or it beeps"),
)


def choices_of(deed: Deed) -> tuple[Choice, ...]:
    """What a prompt with this deed may be answered, one of several; empty: it is no choice.

    Such a prompt is never answered by Enter, by a single button or by message.
    """
    match deed:
        case WatchLamp() | JoinByHand(by_eye=True) | JoinLamp(by_eye=True):
            return _LAMP
        case MeterLeads():
            return (
                Choice(word=WITHIN, key="w", text="both within their limits"),
                Choice(word=BEYOND, key="b", text="one is beyond its limit"),
            )
        case WatchLeads():
            return (
                Choice(word=SLACK, key="k", text="slack all the way"),
                Choice(word=PULLED, key="p", text="pulled, caught or dragged"),
            )
        case PressPlunger():
            return (
                Choice(word=GREW, key="g", text="the number grew"),
                Choice(word=FELL, key="f", text="the number fell"),
            )
        case SayHeatAgain():
            return (
                Choice(word=HEAT, key="h", text="heat the bed again; I stay"),
                Choice(word=COLD, key="c", text="leave it cold"),
            )
        case _:
            return ()
