"""A screw turned in a few goes, as hands do while eyes are on the indicator."""

import asyncio
from collections.abc import Callable

from hostctl_simulators.bed.screws import Direction

GOES = 5
APART_S = 0.4


class Gradual:
    """Turns one screw at a time: the first go at once, the others later, or when it has to end."""

    def __init__(self, turn: Callable[[str, float, Direction], None]) -> None:
        self._turn = turn
        self._left: list[tuple[str, float, Direction]] = []
        self._later: asyncio.TimerHandle | None = None

    def turn(self, name: str, degrees: float, direction: Direction) -> None:
        """Begin. Raises KeyError for an unknown name."""
        self.finish()
        self._turn(name, degrees / GOES, direction)
        self._left = [(name, degrees / GOES, direction)] * (GOES - 1)
        self._go_on_later()

    def finish(self) -> None:
        """What is left of it, now: the hands are out before anything moves."""
        if self._later is not None:
            self._later.cancel()
        while self._left:
            self._turn(*self._left.pop())

    def _go_on_later(self) -> None:
        self._later = asyncio.get_running_loop().call_later(APART_S, self._go_on)

    def _go_on(self) -> None:
        self._turn(*self._left.pop())
        if self._left:
            self._go_on_later()
