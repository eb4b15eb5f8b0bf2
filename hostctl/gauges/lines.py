"""Bytes to whole lines of text, however the bytes were cut. Pure."""

from collections.abc import Iterator

LONGEST_LINE = 100
"""In bytes; indicators send 8 to 40. A longer one is noise, or another program's, and left out."""


class Lines:
    """What came in so far of a line that has not ended."""

    def __init__(self) -> None:
        self._rest = b""
        self._too_long = False

    def feed(self, data: bytes) -> Iterator[str]:
        """The lines that end in `data`, without their ends; empty ones are none."""
        *whole, rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        for line in whole:
            if line and not self._too_long and len(line) <= LONGEST_LINE:
                yield line.decode("ascii", "replace")
            self._too_long = False
        self._too_long |= len(rest) > LONGEST_LINE
        self._rest = rest[: LONGEST_LINE + 1]
