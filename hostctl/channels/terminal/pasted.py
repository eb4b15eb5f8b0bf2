"""What is pasted answers nothing: a terminal that is asked to puts marks about it.

The marks, and how they are asked for, are what terminals that follow xterm understand ("bracketed
paste mode", xterm control sequences); others pass over the request.
"""

ASK = "\x1b[?2004h"
ASK_NO_MORE = "\x1b[?2004l"
BEGINS, ENDS = b"\x1b[200~", b"\x1b[201~"
ESCAPE = b"\x1b"
NOTE = "What is pasted counts for nothing: type it."
LASTS_S = 1.0
"""A paste from which nothing comes for so long is over, or its end was lost: keys must work."""


class Pasted:
    """Takes out what was pasted, however it is split over reads."""

    def __init__(self) -> None:
        self._inside = False
        self._begun = b""  # what may be the beginning of a mark
        self._last_s = float("-inf")

    def without(self, data: bytes, at_s: float) -> tuple[bytes, bool]:
        """What was typed, and whether anything was pasted. at_s: when it came."""
        if at_s - self._last_s > LASTS_S:
            self._inside, self._begun = False, b""
        self._last_s = at_s
        is_key = self._begun == ESCAPE and data[:1] not in (b"[", b"O")
        data, self._begun = data if is_key else self._begun + data, b""
        typed, pasted = b"", self._inside
        while data:
            mark = ENDS if self._inside else BEGINS
            before, found, data = data.partition(mark)
            if not self._inside:
                typed, pasted = _typed_in(typed + before), pasted or ENDS in typed + before
            if found:
                self._inside, pasted = not self._inside, True
            elif held := _beginning_of(mark, before):
                self._begun = held
                shown = self._inside or held == ESCAPE  # which may be a key, and harms nothing
                typed = typed if shown else typed[: -len(held)]
        return typed, pasted


def _typed_in(data: bytes) -> bytes:
    """What comes before an end without a beginning was pasted too."""
    return data.rpartition(ENDS)[2]


def _beginning_of(mark: bytes, data: bytes) -> bytes:
    """The end of data, where a mark may begin there."""
    for length in range(len(mark) - 1, 0, -1):
        if data.endswith(mark[:length]):
            return mark[:length]
    return b""


def is_before(line: bytes) -> bool:
    """Whether all that was pasted came before this line, which only has the end's mark."""
    return line.startswith(ENDS) and BEGINS not in line and ENDS not in line[len(ENDS) :]
