"""The room code: four digits shown at the machine alone, so whoever types them stands there.

A code lasts a few minutes and serves once. Guessing is made hopeless: after a few wrong ones no
code is shown or taken for a while. Whoever is shut out still has the button.
"""

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

DIGITS = 4
LASTS_S = 180
MOST_WRONG = 5
SHUT_S = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A code to be shown at the machine, until when it is taken (UTC)."""

    code: str
    until: datetime


def drawn() -> str:
    """A fresh code."""
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"


class RoomCode:
    """One machine's code. Each method gives why not, in words, where it refuses."""

    def __init__(self, now: Callable[[], datetime], draw: Callable[[], str] = drawn) -> None:
        self._now = now
        self._draw = draw
        self._shown: Shown | None = None
        self._wrong = 0
        self._shut_until: datetime | None = None

    @property
    def shown(self) -> Shown | None:
        """The code that is taken now; None: there is none."""
        if self._shown is not None and self._now() >= self._shown.until:
            self._shown = None
        return self._shown

    def renew(self) -> Shown | str:
        """A fresh code, which replaces the one before."""
        shut = self._shut()
        if shut is not None:
            return shut
        self._shown = Shown(code=self._draw(), until=self._now() + timedelta(seconds=LASTS_S))
        return self._shown

    def take(self, typed: str) -> str | None:
        """None when `typed` is the code that is shown; it is used up then."""
        shut = self._shut()
        if shut is not None:
            return shut
        shown = self.shown
        if shown is None:
            return "no room code is shown now: ask for one first"
        if hmac.compare_digest(typed.strip().encode(), shown.code.encode()):
            self._shown, self._wrong = None, 0
            return None
        self._wrong += 1
        if self._wrong >= MOST_WRONG:
            self._shown, self._wrong = None, 0
            self._shut_until = self._now() + timedelta(seconds=SHUT_S)
        return "that is not the code the machine shows"

    def _shut(self) -> str | None:
        if self._shut_until is None:
            return None
        left_s = (self._shut_until - self._now()).total_seconds()
        if left_s <= 0:
            self._shut_until = None
            return None
        minutes = max(1, round(left_s / 60))
        return f"too many wrong codes: wait {minutes} min, or press the button at the machine"
