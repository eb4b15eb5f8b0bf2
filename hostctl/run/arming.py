"""Arming: starting from afar is off until someone at the machine allows it, for a stated time.

Stopping needs no arming. What is armed runs out by itself, and every start uses it up. The time is
also counted apart from the date: a clock that is set back must not make it last.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

LONGEST_S = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Armed:
    """Who armed the machine, and until when (UTC)."""

    by: str
    until: datetime
    over_s: float  # the same by the clock that nobody sets


class Arming:
    """Whether one machine may be started from afar now."""

    def __init__(
        self, now: Callable[[], datetime], clock: Callable[[], float] = time.monotonic
    ) -> None:
        """`clock`: elapsed seconds."""
        self._now = now
        self._clock = clock
        self._armed: Armed | None = None

    @property
    def armed(self) -> Armed | None:
        """Who armed it and until when; None when it is not armed (any more)."""
        if self._armed is not None and not self.lasts(self._armed):
            self._armed = None
        return self._armed

    def lasts(self, armed: Armed) -> bool:
        """Whether its time has not run out yet."""
        return self._now() < armed.until and self._clock() < armed.over_s

    def arm(self, *, by: str, for_s: float) -> Armed:
        """Allow starts from afar for `for_s` seconds. Raises ValueError outside 1 s to an hour."""
        if not 1 <= for_s <= LONGEST_S:
            raise ValueError(f"arming lasts from 1 to {LONGEST_S} s, not {for_s:g} s")
        self._armed = Armed(
            by=by, until=self._now() + timedelta(seconds=for_s), over_s=self._clock() + for_s
        )
        return self._armed

    def disarm(self) -> None:
        """Allow no more starts from afar."""
        self._armed = None

    def use(self) -> Armed | None:
        """Take the arming for one start; None when there is none to take."""
        armed = self.armed
        self._armed = None
        return armed
