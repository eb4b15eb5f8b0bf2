"""Keys of a measuring cable put together to numbers. Pure.

A cable types a number at once and ends it with Enter. What is broken off, or has any other key in
it, is no number at all: none is guessed from what is left of it.
"""

from dataclasses import dataclass

from hostctl.gauges.spoken_number import plain_number
from hostctl.input_events.events import KeyDown
from hostctl.input_events.keys import DIGITS, ENTERS

PAUSE_S = 1.0
"""Longer between two keys, and they belong to no one number (cables need some 10 ms a key: common
practice, no source)."""
MOST_SIGNS = 16

SIGNS = {**DIGITS, 78: "+", 13: "+", 53: "-"}
"""Plus of a number pad and a keyboard, and minus where keyboards of many countries have it."""
ENDS = ENTERS | {15}
"""Tabulator too, which some cables are set to."""
SHIFTS = frozenset({42, 54, 69})
"""They type nothing of their own: both shifts, number lock."""


@dataclass(frozen=True, slots=True)
class Keyed:
    """What ended with an Enter, or was given up: a number, or why it is none."""

    number: float | None
    trouble: str
    begun_s: float  # by the clock that stamps the keys


class KeyedNumber:
    """The number that is being typed."""

    def __init__(self) -> None:
        self._text = ""
        self._stray: int | None = None
        self._begun_s = self._last_s = 0.0

    def key(self, key: KeyDown) -> list[Keyed]:
        """What `key` ends: nothing, mostly."""
        done = []
        if self._begun and not 0 <= key.at_s - self._last_s <= PAUSE_S:
            done.append(self._given_up())
        if key.code in ENDS:
            return done + ([self._ended()] if self._begun else [])
        if key.code not in SHIFTS:
            self._add(key)
        return done

    @property
    def _begun(self) -> bool:
        return bool(self._text) or self._stray is not None

    def _add(self, key: KeyDown) -> None:
        if not self._begun:
            self._begun_s = key.at_s
        self._last_s = key.at_s
        if key.code in SIGNS:
            self._text = (self._text + SIGNS[key.code])[: MOST_SIGNS + 1]
        elif self._stray is None:
            self._stray = key.code

    def _ended(self) -> Keyed:
        number = plain_number(self._text) if len(self._text) <= MOST_SIGNS else None
        trouble = "" if number is not None else f"it typed '{self._text}', which is no number"
        if self._stray is not None:
            trouble = f"it typed a key that belongs to no number (code {self._stray})"
            number = None
        return self._over(number, trouble)

    def _given_up(self) -> Keyed:
        what = f"'{self._text}'" if self._text else f"a key (code {self._stray})"
        return self._over(None, f"it typed {what} without an end")

    def _over(self, number: float | None, trouble: str) -> Keyed:
        keyed = Keyed(number, trouble, self._begun_s)
        self._text, self._stray = "", None
        return keyed
