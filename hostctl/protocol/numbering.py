"""A command becomes a numbered line with a checksum (RepRap wiki, page G-code, "Checksum").

A run says the same few commands over and over, so what is worked out for each is kept.
"""

import re
from functools import lru_cache, reduce
from operator import xor

LONGEST_SENT = 96
"""Bytes of the longest line sent, its end included: small controllers have small buffers."""

KEPT = 256
"""Commands remembered."""

HALT = b"\nM112\nM112\n"
"""The halt, unnumbered, so that it needs no agreement on numbers. It begins with a line end, in
case the one before was damaged, and goes out twice, so that one damaged byte can't undo it."""

HEATERS_OFF = b"\nM104 S0\nM140 S0\n"
"""Nozzle and bed off, unnumbered: the last that a board hears from us that has stopped itself."""

# A code in upper case; then anything printable but `*` (begins the checksum) and `;` (a comment).
_LAWFUL = re.compile(r"[A-Z]\d+(?:\.\d+)?(?: [ -)+-:<-~]+)?")


def checksum(body: bytes) -> int:
    """XOR of every byte that comes before the `*`."""
    return reduce(xor, body, 0)


@lru_cache(KEPT)
def checked(command: str) -> str:
    """Give `command` back if it may go out; raise ValueError if it may not.

    Lawful is printable ASCII, a code in upper case first, without comment or checksum, and short
    enough that with its number and checksum the line keeps within 96 bytes.
    """
    if not _LAWFUL.fullmatch(command) or len(command) > LONGEST_SENT - len("N9999999 *255\n"):
        raise ValueError(f"not a command that may be sent: {command!r}")
    return command


def numbered(line: int, command: str) -> bytes:
    """The bytes of `command` as line number `line`; e.g. `N3 T0*57` and a line end."""
    number = b"N%d " % line
    data, its_checksum = _encoded(command)
    return b"%b%b*%d\n" % (number, data, checksum(number) ^ its_checksum)


@lru_cache(KEPT)
def _encoded(command: str) -> tuple[bytes, int]:
    data = command.encode("ascii")
    return data, checksum(data)


def repeated(data: bytes) -> bytes:
    """The bytes of a numbered line when it is sent again, between two empty lines.

    The first ends what may be left of the copy before, should its line end have been damaged; the
    second stands in for this copy's own. Controllers pass over empty lines.
    """
    return b"\n%b\n" % data
