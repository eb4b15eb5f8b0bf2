"""Key presses to what they mean: a key counts only when it can't have been meant for the past.

Going on takes a quiet keyboard: a key that arrives within half a second of the prompt, or repeats
because it is held down, moves nothing (DEVELOPERS.md, rules 3 and 5). Holding and stopping always
count. Ending the run and leaving a trial out take the same key twice, and nothing between.

Which of several it is has a key each, never Enter. A key that is held down says nothing more by
itself: a keyboard waits 0.25 to 1 s before it repeats a key, then does so 2 to 30 times a second
(the range that a PC's keyboard can be set to; from memory).
"""

import re
from dataclasses import dataclass

from hostctl.channels.typed_reading import MINUS_SIGNS, like, reading_mm, wanted_number
from hostctl.channels.view.view import PromptView
from hostctl.news import PromptKind, Word

QUIET_S = 0.5
REPEAT_S = 0.25
SLOWEST_REPEAT_S = 0.6
LONGEST_BEFORE_REPEAT_S = 1.1
TWICE_WITHIN_S = 3.0
MOST_TYPED = 9
SOME_OTHER = "\x1b"
"""A key that means nothing: a cursor key, say."""
_ESCAPE = re.compile(r"\x1b(\[[0-?]*[ -/]*[@-~]|O.|.)?")


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer to hand in."""

    word: Word
    reading_mm: float | None = None
    choice: str | None = None


@dataclass(frozen=True, slots=True)
class StopNow:
    """Halt the machine at once."""


@dataclass(frozen=True, slots=True)
class Said:
    """Nothing to do but to tell the person why."""

    note: str


Act = Answered | StopNow | Said
TWICE = {
    "e": "Press e once more to end the run; what was read is kept.",
    "s": "Press s once more to leave this trial out for good.",
}


@dataclass(frozen=True, slots=True)
class _Once:
    """A key that is to be pressed twice was pressed. prompt_id: empty: it is about no prompt."""

    key: str
    prompt_id: str
    at_s: float


NEVER = _Once("", "", float("-inf"))
TOO_SOON = Said("Too soon after the question: look, then press again.")


def keys_of(prompt: PromptView) -> str:
    """`d for dark, l for lit`."""
    return ", ".join(f"{choice.key} for {choice.word}" for choice in prompt.choices)


def keys_in(data: bytes) -> str:
    """The plain characters in what the terminal sent; a cursor key and its like are SOME_OTHER."""
    text = data.decode("utf-8", errors="ignore")
    return _ESCAPE.sub(SOME_OTHER, text).translate(MINUS_SIGNS).replace("\n", "\r")


class Keys:
    """The keyboard's state: what is typed so far, and when keys last came."""

    def __init__(self, *, quiet_s: float = QUIET_S, repeat_s: float = REPEAT_S) -> None:
        self.typed = ""
        self._stray = False  # a number was typed where none is asked for
        self._quiet_s = quiet_s
        self._repeat_s = repeat_s
        self._opened_s = float("-inf")
        self._last: tuple[str, float] = ("", float("-inf"))
        self._once = NEVER
        self._chose: tuple[str, float] = ("", float("-inf"))

    def prompt_opened(self, at_s: float) -> None:
        """Forget what was typed: it was meant for something else."""
        self.typed, self._stray = "", False
        self._opened_s = at_s

    def press(self, key: str, prompt: PromptView | None, at_s: float) -> Act | None:
        """What a key means now; None: it only changed what is typed, or means nothing."""
        once, self._once = self._once, NEVER
        act = self._meant(key, prompt, once, at_s)
        if act is None and once is not NEVER:
            return Said("")  # what was said of pressing it once more holds no longer
        return act

    def _meant(self, key: str, prompt: PromptView | None, once: _Once, at_s: float) -> Act | None:
        last, self._last = self._last, (key, at_s)
        if always := self._always(key, once, at_s):
            return always
        if prompt is None or key == SOME_OTHER:
            return None
        if key in "0123456789.,+-":
            return self._digit(key, prompt)
        if key in "\x7f\x08":
            self.typed = self.typed[:-1]
            return None
        return self._answer(key, prompt, last, once, at_s)

    def _answer(
        self, key: str, prompt: PromptView, last: tuple[str, float], once: _Once, at_s: float
    ) -> Act | None:
        if at_s - self._opened_s < self._quiet_s:
            return TOO_SOON
        if key in "sS" and prompt.may_skip:
            return self._twice(_Once("s", prompt.prompt_id, at_s), once) or Answered(Word.SKIP)
        if key == last[0] and at_s - last[1] < self._repeat_s:
            return TOO_SOON
        if prompt.choices:
            chosen = self._choose(key.lower(), prompt, last, at_s)
            if chosen is not None:
                return chosen
        return self._go_on(key, prompt)

    def _always(self, key: str, once: _Once, at_s: float) -> Act | None:
        """What counts at any time, whatever is asked."""
        match key:
            case "x" | "X":
                return StopNow()
            case " ":
                return Answered(Word.HOLD)
            case "e" | "E":
                return self._twice(_Once("e", "", at_s), once) or Answered(Word.END)
        return None

    def _choose(
        self, key: str, prompt: PromptView, last: tuple[str, float], at_s: float
    ) -> Act | None:
        """What the key says of several; None: that is not what it is for."""
        word = next((each.word for each in prompt.choices if each.key == key), None)
        if key == "\r":
            return Said(f"Enter does not say which it is: press {keys_of(prompt)}.")
        if word is None:
            return None
        may_repeat = key == last[0].lower() and at_s - last[1] < SLOWEST_REPEAT_S
        chose, chose_s = self._chose
        if may_repeat or (key == chose and at_s - chose_s < LONGEST_BEFORE_REPEAT_S):
            return TOO_SOON
        self._chose = (key, at_s)
        return Answered(Word.CHOSEN, choice=word)

    def _twice(self, now: _Once, before: _Once) -> Said | None:
        """None: it was pressed before, not long ago, for the same prompt and with none between."""
        apart_s = now.at_s - before.at_s
        again = (now.key, now.prompt_id) == (before.key, before.prompt_id)
        if again and self._repeat_s <= apart_s < TWICE_WITHIN_S:
            return None
        self._once = now
        return Said(TWICE[now.key])

    def _digit(self, key: str, prompt: PromptView) -> Said | None:
        if prompt.kind in (PromptKind.READ, PromptKind.ZERO):
            self.typed = (self.typed + key)[:MOST_TYPED]
            return None
        self._stray = True
        return Said("No number is asked for now.")

    def _go_on(self, key: str, prompt: PromptView) -> Act | None:
        match key:
            case "\r":
                return self._enter(prompt)
            case "r" | "R":
                return Answered(Word.REDO)
            case "s" | "S":
                return Answered(Word.SKIP)
        return None

    def _enter(self, prompt: PromptView) -> Act:
        typed, self.typed = self.typed, ""
        stray, self._stray = self._stray, False
        if stray:  # whoever typed a number took this for another question
            return Said("No number is asked for. If the deed is done, press enter once more.")
        if prompt.kind is PromptKind.SEND:
            return Said("Press the button of the indicator's cable: the reading comes from that.")
        if not typed and prompt.kind is PromptKind.READ:
            return Said(f"Type {wanted_number(prompt)} first: {like(prompt)}.")
        if not typed:
            return Answered(Word.DONE)
        value_mm = reading_mm(typed, prompt)
        if value_mm is None:
            return Said(f"'{typed}' is no number: type it like {like(prompt)}.")
        return Answered(Word.READING, value_mm)
