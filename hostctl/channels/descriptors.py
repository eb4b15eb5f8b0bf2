"""Lines in from, and text out to, a file descriptor, without ever blocking the event loop.

Readiness is asked of the loop, then one read or one short write can't block, so the descriptor's
own mode (which other programs share) stays as it is. Regular files are always ready.
"""

import asyncio
import os
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass
from select import PIPE_BUF, select

from hostctl.report.document.plain_ascii import asked_for, in_ascii

LONGEST_LINE = 64 * 1024
STOPPED_HINT = "What was read is kept: hostctl runs lists it."
"""Where the run's number is not known; `cli/session.py` puts in what to do."""


@dataclass(frozen=True, slots=True)
class TooLong:
    """A line beyond LONGEST_LINE; its text was thrown away."""


async def lines_from(fd: int) -> AsyncIterator[bytes | TooLong]:
    """Each line as it comes, without its end; over when the input ends."""
    kept, dropping = b"", False
    while piece := await read_some(fd):
        *lines, kept = (kept + piece).split(b"\n")
        for line in lines:
            yield TooLong() if dropping or len(line) > LONGEST_LINE else line.rstrip(b"\r")
            dropping = False
        if len(kept) > LONGEST_LINE:
            kept, dropping = b"", True
    if kept or dropping:
        yield TooLong() if dropping else kept


async def read_some(fd: int) -> bytes:
    """What has come, waiting until there is some; empty at the end of the input."""
    loop = asyncio.get_running_loop()
    while True:
        await _ready(lambda call: loop.add_reader(fd, call), lambda: loop.remove_reader(fd))
        if _has_input(fd):
            break
    try:
        return os.read(fd, LONGEST_LINE)
    except OSError:  # a terminal that was closed
        return b""


def _has_input(fd: int) -> bool:
    """Whether a read won't block now: what made it ready may have been flushed since."""
    return bool(select([fd], [], [], 0)[0])


async def write_all(fd: int, text: str) -> None:
    """Write the text, waiting while nobody reads it. Raises OSError when the other side is gone."""
    loop = asyncio.get_running_loop()
    data = memoryview(text.encode("utf-8", errors="replace"))
    while data:
        await _ready(lambda call: loop.add_writer(fd, call), lambda: loop.remove_writer(fd))
        data = data[os.write(fd, data[:PIPE_BUF]) :]


async def write_for_people(fd: int, text: str) -> None:
    """As `write_all`; a terminal that knows no UTF-8 gets the nearest plain signs."""
    plain = asked_for(os.environ) and os.isatty(fd)
    await write_all(fd, in_ascii(text) if plain else text)


Watch = Callable[[Callable[[], None]], None]


async def _ready(watch: Watch, unwatch: Callable[[], object]) -> None:
    ready = asyncio.Event()
    try:
        watch(ready.set)
    except PermissionError:  # a regular file can't be watched, and never blocks
        await asyncio.sleep(0)  # but others must get their turn
        return
    try:
        await ready.wait()
    finally:
        unwatch()
