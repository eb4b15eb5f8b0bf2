"""The one line that says what became of what a person did last."""

from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    DecisionKept,
    HoldBegan,
    HoldLifted,
    LiveReading,
    Moving,
    News,
    PromptClosed,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)


def told_to_halt(*, simulated: bool) -> str:
    """Right after it was told to halt; a simulated one has no mains switch."""
    if simulated:
        return "Told the simulated machine to halt."
    return "Told the machine to halt. The emergency stop is its mains switch."


def note_after(note: str, news: News) -> str:
    """The note once `news` have come; empty where there is nothing to be said any more."""
    match news:
        case AnswerRefused(reason=reason):
            return f"Not taken: {reason}."
        case ReadingKept(is_zero=is_zero):
            return "Zero kept." if is_zero else "Reading kept."
        case TrialMarked(whole_block=True, reason=reason):
            return f"This block is begun again: {reason}."
        case TrialMarked(place=place, mark=mark, reason=reason):
            return f"Trial {place.trial} {mark}: {reason}."
        case PromptOpened(prompt=prompt):  # a note there would be of the reading before this one
            return "" if prompt.kind is PromptKind.READ else note
        case PromptClosed():  # what was said of it must not be taken for the next one's
            return ""
        case RunStarted() | HoldBegan() | HoldLifted():
            return ""
        case CountdownTicked() | Moving() | DecisionKept() | LiveReading() | RunFinished():
            return note
