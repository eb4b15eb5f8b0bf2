"""How noisy is the line: the share of lines that had to be sent again.

An XOR checksum misses pairs of flips in the same bit. On a line that is damaged often, some damage
therefore passes unseen, and no host may go on trusting it.
"""

from collections import deque
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseLimit:
    """More resends than `share` of the last `window` lines is too noisy."""

    share: float = 0.1
    window: int = 100


class NoiseMeter:
    """Remembers at which of the last lines a resend was asked for."""

    def __init__(self, limit: NoiseLimit) -> None:
        self._limit = limit
        self._asked_at: deque[int] = deque()

    def resend_asked(self, line: int) -> bool:
        """Note a resend while line number `line` was out; True: the line is too noisy now."""
        self._asked_at.append(line)
        while self._asked_at[0] <= line - self._limit.window:
            self._asked_at.popleft()
        return len(self._asked_at) > self._limit.share * self._limit.window
