"""A deed in few words, to be read from a step away."""

from hostctl.channels.view.view import PromptView, RunView
from hostctl.choices import choices_of
from hostctl.deeds import (
    ChangeHands,
    ClearAway,
    Deed,
    JoinByHand,
    JoinLamp,
    LayPlate,
    MeterLeads,
    PressPlunger,
    SayHeatAgain,
    SayPresent,
    SetOnBlock,
    TryBlade,
    WatchLamp,
    WatchLeads,
    WireContact,
)
from hostctl.news import Prompt


def few_words(deed: Deed) -> str:
    """As `Dark or lit?`; empty where the kind of the prompt says enough."""
    match deed:
        case WatchLamp() | WatchLeads() | SayHeatAgain():
            return f"{' or '.join(choice.word for choice in choices_of(deed))}?".capitalize()
        case ChangeHands(operator=operator, method=method):
            return now_with(operator, method)
        case JoinByHand(joined=joined):
            return "Join them" if joined else "Part them"
        case JoinLamp(by_eye=by_eye):
            return "Join lamp" if by_eye else "Join coupler"
        case _:
            return _FEW.get(type(deed), "")


def now_with(operator: str, method: str) -> str:
    """Whose turn it is, as `Now: volunteer-b, paper slip`; a method's name reads as words."""
    return f"Now: {', '.join(name for name in (operator, method.replace('-', ' ')) if name)}"


def done_of(run: RunView) -> str:
    """`11 of 60 done, 1 skipped`: how far a run is."""
    skipped = f", {run.trials_skipped} skipped" if run.trials_skipped else ""
    return f"{run.trials_done - run.trials_skipped} of {run.trials_total} done{skipped}"


def without_hands(prompt: Prompt | PromptView) -> str:
    """A prompt's detail without that hands must be out, which stands right above the key."""
    return prompt.detail.removesuffix(prompt.hands_out).rstrip()


def redoes(trial: int | None) -> str:
    """What `redo` takes again, where that is not the trial that is asked about."""
    return "" if trial is None else " the last" if trial else " the zero"


_FEW: dict[type[Deed], str] = {
    PressPlunger: "Press plunger",
    WireContact: "Wire contact",
    MeterLeads: "Meter leads",
    LayPlate: "Lay plate",
    TryBlade: "How thick?",
    SetOnBlock: "Set on block",
    ClearAway: "Clear away",
    SayPresent: "Still there?",
}
