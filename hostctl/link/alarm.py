"""A timer that is moved far more often than it goes off."""

import asyncio
from collections.abc import Callable


class Alarm:
    """Calls `ring` once the loop's clock reaches the time it is set for.

    Moving it later costs nothing: the loop's own timer is left alone, and looks again when it
    goes off. So a deadline for each line does not mean a timer for each line.
    """

    __slots__ = ("_due_s", "_loop", "_ring", "_timer")

    def __init__(self, ring: Callable[[], None]) -> None:
        self._ring = ring
        self._loop = asyncio.get_running_loop()
        self._due_s: float | None = None
        self._timer: asyncio.TimerHandle | None = None

    def set(self, after_s: float) -> None:
        """Ring after so long from now, whatever it was set for before."""
        self._due_s = due_s = self._loop.time() + after_s
        if self._timer is None or due_s < self._timer.when():
            self._arm(due_s)

    def clear(self) -> None:
        """Don't ring."""
        self._due_s = None

    def close(self) -> None:
        """Don't ring, and leave nothing behind in the loop."""
        self._due_s = None
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _arm(self, due_s: float) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = self._loop.call_at(due_s, self._look)

    def _look(self) -> None:
        self._timer = None
        if self._due_s is None:
            return
        if self._due_s > self._loop.time():
            self._arm(self._due_s)
            return
        self._due_s = None
        self._ring()
