"""How long something is allowed: by the date and by the clock that nobody sets.

The first of the two ends it: a date that is set back must not make it last.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True, slots=True)
class Until:
    """An end, by both."""

    at: datetime  # UTC
    over_s: float


class Lasting:
    """Sets such ends, and says whether they have come."""

    def __init__(
        self, now: Callable[[], datetime], clock: Callable[[], float] = time.monotonic
    ) -> None:
        """`clock`: elapsed seconds."""
        self._now = now
        self._clock = clock

    def for_s(self, seconds: float) -> Until:
        """The end of what is allowed for so long."""
        return Until(self._now() + timedelta(seconds=seconds), self._clock() + seconds)

    def lasts(self, until: Until) -> bool:
        """Whether it has not come yet."""
        return self.left_s(until) > 0

    def left_s(self, until: Until) -> float:
        """How long it is till then; 0 or less once it has come."""
        by_date_s = (until.at - self._now()).total_seconds()
        return min(by_date_s, until.over_s - self._clock())
