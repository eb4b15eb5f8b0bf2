"""How often something may be done: a few at once, then so many a second."""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

MOST_NAMES = 256


@dataclass(slots=True)
class _Level:
    left: float
    at_s: float


class Allowance:
    """One allowance for each name (an address, a browser); the least recent names are forgotten."""

    def __init__(self, clock: Callable[[], float], *, at_once: int, a_second: float) -> None:
        """`clock`: elapsed seconds."""
        self._clock = clock
        self._at_once = at_once
        self._a_second = a_second
        self._levels: OrderedDict[str, _Level] = OrderedDict()

    def take(self, name: str) -> bool:
        """Whether `name` may do it once more now; it is counted when so."""
        now_s = self._clock()
        level = self._levels.pop(name, None) or _Level(self._at_once, now_s)
        level.left = min(self._at_once, level.left + (now_s - level.at_s) * self._a_second)
        level.at_s = now_s
        self._levels[name] = level
        while len(self._levels) > MOST_NAMES:
            self._levels.popitem(last=False)
        if level.left < 1:
            return False
        level.left -= 1
        return True
