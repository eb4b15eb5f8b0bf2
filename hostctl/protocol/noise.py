"""How noisy is the line: the share of resends among the lines sent.

An XOR checksum misses pairs of flips in the same bit. On a line that is damaged often, some damage
therefore passes unseen, and no host may go on trusting it.
"""

from collections import deque
from dataclasses import dataclass

from hostctl.protocol.states import Cause, Fault


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseLimit:
    """More resends than `share` of the last `window` lines sent is too noisy.

    A line sent again is a line sent: it may be damaged as well, and then is one more resend.
    """

    share: float = 0.1
    window: int = 100


class NoiseMeter:
    """Remembers which of the last lines sent were resends that had been asked for, and why."""

    def __init__(self, limit: NoiseLimit) -> None:
        self._limit = limit
        self._asked: deque[tuple[int, str]] = deque()
        self._complaint = ""  # empty: it gave none

    def complained(self, text: str) -> None:
        """The controller said why it is about to ask for a line again."""
        self._complaint = text

    def resend_asked(self, sent: int) -> bool:
        """Note a resend that is the line sent as number `sent`; True: too many now."""
        self._asked.append((sent, self._complaint))
        self._complaint = ""
        while self._asked[0][0] <= sent - self._limit.window:
            self._asked.popleft()
        return len(self._asked) > self._limit.share * self._limit.window

    @property
    def fault(self) -> Fault:
        """What is wrong with the line once it is too many."""
        said = "too many lines had to be sent again"
        if self._was_damage():
            return Fault(Cause.NOISY, said)
        return Fault(Cause.REPEATING, f"{said}, though their checksums were not at fault")

    def _was_damage(self) -> bool:
        """Whether most that were complained of had been damaged: their checksums were wrong."""
        named = [why for _, why in self._asked if why]
        return 2 * sum("checksum" in why.lower() for why in named) >= len(named)
