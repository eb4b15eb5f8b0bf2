"""Whether an answer, meant for the open prompt, is one to what was asked."""

import math

from hostctl.deeds import TryBlade
from hostctl.news import Answer, Prompt, PromptKind, Word

FROM_GAUGE = "indicator"
"""The channel of what a gauge sends by itself at a press."""


def why_not_fitting(prompt: Prompt, answer: Answer) -> str | None:
    """Why the answer, though meant for the prompt, is not an answer to it."""
    if why := _not_chosen(prompt, answer) or _not_sent(prompt, answer):
        return why
    match answer.word:
        case Word.READING:
            return _no_number(prompt, answer.reading_mm)
        case Word.DONE if prompt.kind is PromptKind.READ:
            return _number_due(prompt)
        case Word.REDO | Word.SKIP if not prompt.may_redo:
            return "this question belongs to no trial"
        case Word.SKIP if not prompt.may_skip:
            return _why_no_skip(prompt)
        case _:
            return None


def only_there(prompt: Prompt) -> str:
    """What a way in that can't say which of several it is, says of a prompt with a choice."""
    return f"say which it is at the terminal or on the phone page: {_words(prompt)}"


def _words(prompt: Prompt) -> str:
    return ", ".join(choice.word for choice in prompt.choices)


def _no_number(prompt: Prompt, value_mm: float | None) -> str | None:
    if prompt.kind not in (PromptKind.READ, PromptKind.ZERO, PromptKind.SEND):
        return "no reading is asked for now"
    if value_mm is None or not math.isfinite(value_mm):
        return "it holds no number"
    is_nothing = isinstance(prompt.deed, TryBlade) and value_mm <= 0
    return "a blade is thicker than nothing" if is_nothing else None


def _why_no_skip(prompt: Prompt) -> str:
    if prompt.place is not None and not prompt.place.counts:
        return "the study can't do without its tie; redo does this observation again"
    return "a block can't do without its zero"


def _number_due(prompt: Prompt) -> str:
    if isinstance(prompt.deed, TryBlade):
        return "a thickness is asked for: say how thick the blade is"
    return "a reading is asked for: say what the indicator shows"


def _not_sent(prompt: Prompt, answer: Answer) -> str | None:
    """Why the answer is not what the gauge alone can give."""
    is_a_word = answer.word not in (Word.READING, Word.DONE)
    is_sent = answer.word is Word.READING and answer.channel == FROM_GAUGE
    if prompt.kind is not PromptKind.SEND or is_a_word or is_sent:
        return None
    return "the reading comes from the indicator's cable: press its button"


def _not_chosen(prompt: Prompt, answer: Answer) -> str | None:
    """Why the answer does not say which of several it is: a way in without ids never does."""
    match answer.word:
        case Word.CHOSEN if not prompt.choices:
            return "there is nothing to choose now"
        case Word.DONE | Word.READING | Word.CHOSEN if prompt.choices and answer.prompt_id is None:
            return only_there(prompt)
        case Word.DONE | Word.READING if prompt.choices:
            return f"say which it is: {_words(prompt)}"
        case Word.CHOSEN if answer.choice not in [choice.word for choice in prompt.choices]:
            return f"it is none of: {_words(prompt)}"
        case _:
            return None
