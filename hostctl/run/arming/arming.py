"""Arming: starting from afar is off until someone at the machine allows it, for a stated time.

Stopping needs no arming. What is armed runs out by itself, and every start uses it up.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from hostctl.run.arming.lasting import Lasting, Until

LONGEST_S = 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class Armed:
    """Who armed the machine, and until when (UTC)."""

    by: str
    end: Until

    @property
    def until(self) -> datetime:
        """UTC."""
        return self.end.at


class Arming:
    """Whether one machine may be started from afar now."""

    def __init__(
        self, now: Callable[[], datetime], clock: Callable[[], float] = time.monotonic
    ) -> None:
        """`clock`: elapsed seconds."""
        self._lasting = Lasting(now, clock)
        self._armed: Armed | None = None

    @property
    def armed(self) -> Armed | None:
        """Who armed it and until when; None when it is not armed (any more)."""
        if self._armed is not None and not self.lasts(self._armed):
            self._armed = None
        return self._armed

    def lasts(self, armed: Armed) -> bool:
        """Whether its time has not run out yet."""
        return self._lasting.lasts(armed.end)

    def arm(self, *, by: str, for_s: float) -> Armed:
        """Allow starts from afar for `for_s` seconds. Raises ValueError outside 1 s to an hour."""
        if not 1 <= for_s <= LONGEST_S:
            raise ValueError(f"arming lasts from 1 to {LONGEST_S} s, not {for_s:g} s")
        self._armed = Armed(by=by, end=self._lasting.for_s(for_s))
        return self._armed

    def disarm(self) -> None:
        """Allow no more starts from afar."""
        self._armed = None

    def use(self) -> Armed | None:
        """Take the arming for one start; None when there is none to take."""
        armed = self.armed
        self._armed = None
        return armed
