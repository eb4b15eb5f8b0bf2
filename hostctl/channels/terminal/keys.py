"""Key presses to what they mean: a key counts only when it can't have been meant for the past.

Going on takes a quiet keyboard: a key that arrives within half a second of the prompt, or repeats
because it is held down, moves nothing (DEVELOPERS.md, rules 3 and 5). Holding and stopping always
count.
"""

import re
from dataclasses import dataclass

from hostctl.channels.typed_reading import MINUS_SIGNS, reading_mm
from hostctl.channels.view.view import PromptView
from hostctl.news import PromptKind, Word
from hostctl.report.document.significant import in_mm

QUIET_S = 0.5
REPEAT_S = 0.25
END_WITHIN_S = 3.0
MOST_TYPED = 9
_ESCAPE = re.compile(r"\x1b(\[[0-?]*[ -/]*[@-~]|O.|.)?")


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer to hand in."""

    word: Word
    reading_mm: float | None = None


@dataclass(frozen=True, slots=True)
class StopNow:
    """Halt the machine at once."""


@dataclass(frozen=True, slots=True)
class Said:
    """Nothing to do but to tell the person why."""

    note: str


Act = Answered | StopNow | Said


def keys_in(data: bytes) -> str:
    """The plain characters in what the terminal sent; cursor keys and the like are dropped."""
    text = data.decode("utf-8", errors="ignore")
    return _ESCAPE.sub("", text).translate(MINUS_SIGNS).replace("\n", "\r")


class Keys:
    """The keyboard's state: what is typed so far, and when keys last came."""

    def __init__(self, *, quiet_s: float = QUIET_S, repeat_s: float = REPEAT_S) -> None:
        self.typed = ""
        self._stray = False  # a number was typed where none is asked for
        self._quiet_s = quiet_s
        self._repeat_s = repeat_s
        self._opened_s = float("-inf")
        self._last: tuple[str, float] = ("", float("-inf"))
        self._end_asked_s = float("-inf")

    def prompt_opened(self, at_s: float) -> None:
        """Forget what was typed: it was meant for something else."""
        self.typed, self._stray = "", False
        self._opened_s = at_s

    def press(self, key: str, prompt: PromptView | None, at_s: float) -> Act | None:
        """What a key means now; None: it only changed what is typed, or means nothing."""
        last, self._last = self._last, (key, at_s)
        match key:
            case "x" | "X":
                return StopNow()
            case " ":
                return Answered(Word.HOLD)
            case "e" | "E":
                return self._end(at_s)
        if prompt is None:
            return None
        if key in "0123456789.,+-":
            return self._digit(key, prompt)
        if key in "\x7f\x08":
            self.typed = self.typed[:-1]
            return None
        held_down = key == last[0] and at_s - last[1] < self._repeat_s
        if held_down or at_s - self._opened_s < self._quiet_s:
            return Said("Too soon after the question: look, then press again.")
        return self._go_on(key, prompt)

    def _end(self, at_s: float) -> Act:
        first, self._end_asked_s = self._end_asked_s, at_s
        held_down = at_s - first < self._repeat_s
        if at_s - first < END_WITHIN_S and not held_down:
            return Answered(Word.END)
        return Said("Press e once more to end the run; what was read is kept.")

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
        if not typed and prompt.kind is PromptKind.READ:
            return Said(f"Type what the indicator shows first: {_examples(prompt)}.")
        if not typed:
            return Answered(Word.DONE)
        value_mm = reading_mm(typed, prompt)
        if value_mm is None:
            return Said(f"'{typed}' is no number: type it like {_examples(prompt)}.")
        return Answered(Word.READING, value_mm)


def _examples(prompt: PromptView) -> str:
    if prompt.typed_in_graduations:
        return "2 or -1 graduations"
    step = prompt.resolution_mm or 0.01
    return f"{in_mm(2 * step, step)} or {in_mm(-step, step)} mm".replace("\N{MINUS SIGN}", "-")
