"""A loop whose clock jumps to the next timer: an hour costs nothing. In-memory parts only."""

import asyncio
import selectors
from collections.abc import Coroutine
from typing import Any, TypeVar

T = TypeVar("T")


class Stuck(Exception):
    """Every task waits and no timer is set: a deadlock is named, not hung."""


class JumpingSelector(selectors.DefaultSelector):
    now_s = 0.0

    def select(self, timeout=None):
        ready = super().select(0)
        if not ready and timeout is None:
            raise Stuck("every task waits and no timer is set")
        if not ready:
            self.now_s += timeout
        return ready


class JumpingLoop(asyncio.SelectorEventLoop):
    def __init__(self) -> None:
        self.clock = JumpingSelector()
        super().__init__(self.clock)

    def time(self) -> float:
        return self.clock.now_s


def in_jumping_time(work: Coroutine[Any, Any, T]) -> T:
    """Run `work` to its end on such a loop."""
    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        return runner.run(work)
