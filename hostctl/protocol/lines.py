"""Bytes, however they were cut on the way, become lines of text."""

LONGEST_LINE = 512
"""Bytes kept of one line; what exceeds it is dropped up to the line's end, so memory is bounded."""


class LineSplitter:
    """Collects bytes and gives whole lines; a line ends in `\\n`, `\\r` or both.

    How the bytes are cut into pieces never matters. Empty lines are dropped, and so are the NULs
    that some boards and cables put around a line. Bytes that are not ASCII become U+FFFD, so that
    garbage can be shown but never be taken for an answer.
    """

    __slots__ = ("_rest",)

    def __init__(self) -> None:
        self._rest = b""

    def feed(self, data: bytes) -> list[str]:
        """The lines that `data` completes, in order."""
        if data == b"ok\n" and not self._rest:  # most of what a machine ever says
            return ["ok"]
        lines = (self._rest + data).splitlines()  # bytes: at `\n` and `\r` only
        self._rest = b""
        if lines and not data.endswith((b"\n", b"\r")):
            self._rest = lines.pop().lstrip(b"\0")[:LONGEST_LINE]
        whole = (line.strip(b"\0")[:LONGEST_LINE] for line in lines)
        return [line.decode("ascii", "replace") for line in whole if line]
