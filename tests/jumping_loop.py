"""An event loop whose clock jumps to the next timer: an hour of waiting takes no time.

For in-memory parts only: with a thread, a pseudo-terminal or a socket it would jump too soon.
"""

import asyncio
import selectors
from collections.abc import Coroutine
from typing import Any, TypeVar

T = TypeVar("T")


class Stuck(AssertionError):
    """Every task waits and no timer is set: a deadlock is named, not hung."""


class JumpingSelector(selectors.DefaultSelector):
    """Never sleeps; moves its own clock instead."""

    now_s = 0.0

    def select(self, timeout: float | None = None) -> list[Any]:
        """What is ready now; if nothing is, the clock has moved on by `timeout`."""
        ready = super().select(0)
        if not ready and timeout is None:
            raise Stuck("every task waits and no timer is set")
        if not ready and timeout:
            self.now_s += timeout
        return ready


class JumpingLoop(asyncio.SelectorEventLoop):
    """Use as `asyncio.Runner(loop_factory=JumpingLoop)`."""

    def __init__(self) -> None:
        self._jumping = JumpingSelector()
        super().__init__(self._jumping)

    def time(self) -> float:
        """Seconds that the timers of this loop have taken."""
        return self._jumping.now_s


def in_jumping_time(work: Coroutine[Any, Any, T]) -> T:
    """Run `work` to its end on such a loop."""
    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        return runner.run(work)
