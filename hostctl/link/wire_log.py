"""Every line, both ways, with its time: bounded, always on, saved with every hold."""

from collections import deque
from collections.abc import Callable
from typing import Literal

Direction = Literal[">", "<", "#"]
"""To the machine, from the machine, and remarks of the link."""


class WireLog:
    """The last `capacity` lines that went over the wire. Times are seconds of the given clock."""

    def __init__(self, clock: Callable[[], float], capacity: int = 4000) -> None:
        self._clock = clock
        self._lines: deque[tuple[float, Direction, str | bytes]] = deque(maxlen=capacity)

    def sent(self, data: bytes) -> None:
        """Note what was written to the port."""
        self._lines.append((self._clock(), ">", data))

    def received(self, line: str) -> None:
        """Note a line that came in."""
        self._lines.append((self._clock(), "<", line))

    def remark(self, text: str) -> None:
        """Note what happened to the link itself."""
        self._lines.append((self._clock(), "#", text))

    def __len__(self) -> int:
        return len(self._lines)

    def text(self) -> str:
        """One line each: seconds before the last one, direction, and what was said."""
        if not self._lines:
            return ""
        last_s = self._lines[-1][0]
        return "".join(
            f"{at_s - last_s:10.4f} {direction} {_shown(said)}\n"
            for at_s, direction, said in self._lines
        )


def _shown(said: str | bytes) -> str:
    text = said.decode("ascii", "replace") if isinstance(said, bytes) else said
    return text.strip("\n").replace("\n", "\\n")
