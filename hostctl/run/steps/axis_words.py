"""What is said otherwise in an axis test, where the plunger stays on the bed between readings."""

from dataclasses import replace

from hostctl.config.study import Study
from hostctl.run.wording import Words

_MOVES_ON = "The head goes up or down to the next height; at the end it lifts."


def moving_on(words: Words, study: Study) -> Words:
    """With what really moves after the answer."""
    return words if study.axis is None else replace(words, moves_next=_MOVES_ON)
