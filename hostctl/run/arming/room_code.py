"""The room code: four digits shown at the machine alone, so whoever types them stands there.

A code lasts a few minutes and serves once. Guessing is made hopeless: after a few wrong ones no
code is shown or taken for a while. Whoever is shut out still has the button.
"""

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from hostctl.run.arming.lasting import Lasting, Until

DIGITS = 4
LASTS_S = 180
MOST_WRONG = 5
SHUT_S = 600


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCode:
    """A code to be shown at the machine, and until when it is taken."""

    code: str
    end: Until

    @property
    def until(self) -> datetime:
        """UTC."""
        return self.end.at


def drawn() -> str:
    """A fresh code."""
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"


class RoomCode:
    """One machine's code. Each method gives why not, in words, where it refuses."""

    def __init__(
        self,
        now: Callable[[], datetime],
        draw: Callable[[], str] = drawn,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """`clock`: elapsed seconds."""
        self._lasting = Lasting(now, clock)
        self._draw = draw
        self._shown: ShownCode | None = None
        self._wrong = 0
        self._shut_until: Until | None = None

    @property
    def shown(self) -> ShownCode | None:
        """The code that is taken now; None: there is none."""
        if self._shown is not None and not self._lasting.lasts(self._shown.end):
            self._shown = None
        return self._shown

    def renew(self) -> ShownCode | str:
        """A fresh code, which replaces the one before."""
        shut = self._shut()
        if shut is not None:
            return shut
        self._shown = ShownCode(code=self._draw(), end=self._lasting.for_s(LASTS_S))
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
            self._shut_until = self._lasting.for_s(SHUT_S)
        return "that is not the code the machine shows"

    def _shut(self) -> str | None:
        if self._shut_until is None:
            return None
        if not self._lasting.lasts(self._shut_until):
            self._shut_until = None
            return None
        left_s = self._lasting.left_s(self._shut_until)
        minutes = max(1, round(left_s / 60))
        return f"too many wrong codes: wait {minutes} min, or press the button at the machine"
