"""The line being typed: it counts only when all of it was typed by hand, after the question.

Nothing shorter than a line is ever dropped, so that no number loses its first figure.
"""

import unicodedata
from dataclasses import dataclass

from hostctl.begin.screen.keyboard import Keyboard
from hostctl.channels.terminal.keys import LONGEST_BEFORE_REPEAT_S, QUIET_S, SLOWEST_REPEAT_S

TOO_SOON = "Too soon after the question: look, then type it again."
NO_PASTE = "A paste is no answer, nothing of it was taken: type it."
MOST_TYPED = 200
_RUB_OUT, _WHOLE_LINE, _END_OF_INPUT = "\x7f\b", "\x15", "\x04"


@dataclass(frozen=True, slots=True)
class Heard:
    """What came of some keys. All empty: nothing."""

    echo: str = ""
    """To be shown behind the prompt."""
    line: str | None = None
    """An answer."""
    note: str = ""
    """Why what was typed is no answer; it is asked again."""
    ended: bool = False
    """The person ended the input."""


class TypedLine:
    """What is typed so far, and when."""

    def __init__(self) -> None:
        self._keyboard = Keyboard()
        self._text = ""
        self._too_soon = False
        self._asked_s = float("-inf")
        self._enter_s = float("-inf")
        self._held_down = False

    def asked(self, at_s: float) -> None:
        """The question is on the screen; what was typed before was meant for something else."""
        self._keyboard.forget()
        self._text, self._too_soon, self._asked_s = "", False, at_s

    def hear(self, data: bytes, at_s: float) -> Heard:
        """What comes of keys that arrived together."""
        echo, enters = "", 0
        for piece in self._keyboard.pieces(data):
            if piece.pasted and not piece.over:
                continue
            before, _, more = piece.text.partition("\n")
            if piece.over or enters or more.strip("\n"):  # a line and more: nobody types like that
                return Heard(echo, note=NO_PASTE)
            echo += self._typed(before, at_s)
            if _END_OF_INPUT in before and not self._text:
                return Heard(echo, ended=True)
            enters = piece.text.count("\n")
        return self._enter(echo, at_s, enters) if enters else Heard(echo)

    def _typed(self, keys: str, at_s: float) -> str:
        """What becomes of the screen's line."""
        echo = ""
        for key in keys:
            if key in _RUB_OUT:
                echo += _rubbed_out(self._text[-1:])
                self._text = self._text[:-1]
            elif key == _WHOLE_LINE:
                echo += "".join(_rubbed_out(each) for each in reversed(self._text))
                self._text = ""
            elif key.isprintable() and len(self._text) < MOST_TYPED:
                self._too_soon = self._too_soon or self._is_too_soon(at_s)
                self._text += key
                echo += key
            self._too_soon = self._too_soon and bool(self._text)
        return echo

    def _is_too_soon(self, at_s: float) -> bool:
        return at_s - self._asked_s < QUIET_S

    def _enter(self, echo: str, at_s: float, enters: int) -> Heard:
        text, self._text = self._text, ""
        since_s, self._enter_s = at_s - self._enter_s, at_s
        told, self._held_down = self._held_down, False
        if not text and (enters > 1 or since_s < LONGEST_BEFORE_REPEAT_S):
            self._held_down = True
            return Heard(echo, note="" if told and since_s < SLOWEST_REPEAT_S else TOO_SOON)
        if self._too_soon or self._is_too_soon(at_s):
            return Heard(echo, note=TOO_SOON)
        return Heard(echo, line=text)


def _rubbed_out(sign: str) -> str:
    wide = unicodedata.east_asian_width(sign) in "WF" if sign else False
    return "\b \b" * (2 if wide else 1) if sign else ""
