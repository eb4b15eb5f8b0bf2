"""Limits that keep a flood of messages harmless. Pure, on times in seconds of the event loop."""

import math
from collections import OrderedDict, deque

CALM_MESSAGES = 20  # in a second; people and phone apps send fewer
CALM_AGAIN_S = 5.0
TOLD_AT_ONCE = 5
TOLD_AGAIN_S = 2.0
IDS_KEPT = 1000


class Calm:
    """Whether so few messages come in that each was sent about when it arrived.

    In a flood messages wait in the broker and in the network, so one without a prompt's id may be
    from before the prompt was shown. It is not calm again at once: when this computer was too busy
    to read for a while, what comes after that gap may still be the same flood.
    """

    def __init__(self) -> None:
        self._last: deque[float] = deque(maxlen=CALM_MESSAGES)
        self._calm_from_s = -math.inf

    def note(self, at_s: float) -> bool:
        """A message came; gives whether it is calm."""
        if len(self._last) == CALM_MESSAGES and at_s - self._last[0] <= 1.0:
            self._calm_from_s = at_s + CALM_AGAIN_S
        self._last.append(at_s)
        return at_s >= self._calm_from_s


class Quota:
    """How often something may be told: a few at once, then one every two seconds."""

    def __init__(self) -> None:
        self._left = float(TOLD_AT_ONCE)
        self._at_s = 0.0
        self.untold = 0

    def take(self, at_s: float) -> bool:
        """Whether it may be told now; what may not is counted in `untold`."""
        self._left = min(TOLD_AT_ONCE, self._left + max(0.0, at_s - self._at_s) / TOLD_AGAIN_S)
        self._at_s = at_s
        if self._left < 1:
            self.untold += 1
            return False
        self._left -= 1
        return True

    def untold_now(self, at_s: float) -> int:
        """How many were not told since last asked, if that may be told now; else 0."""
        untold = self.untold
        told = untold > 0 and self.take(at_s)
        self.untold = 0 if told else untold
        return untold if told else 0


class Remembered:
    """The ids of messages that counted, the last thousand."""

    def __init__(self) -> None:
        self._ids: OrderedDict[str, None] = OrderedDict()

    def __contains__(self, message_id: object) -> bool:
        return message_id in self._ids

    def add(self, message_id: str) -> None:
        """Remember one more; the oldest is forgotten."""
        self._ids[message_id] = None
        if len(self._ids) > IDS_KEPT:
            self._ids.popitem(last=False)
