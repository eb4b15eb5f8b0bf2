"""Key x while something moves: the machine is told to halt at once; no other key counts."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from hostctl.begin.screen.keyboard import Keyboard
from hostctl.begin.talk import LeaveAsked
from hostctl.channels.descriptors import read_some
from hostctl.errors import HostctlError


@asynccontextmanager
async def halting(
    keyboard: int, stop: Callable[[], None], say_so: Callable[[], Awaitable[None]]
) -> AsyncIterator[None]:
    """Call `stop` whenever x comes, and `say_so` after the first.

    Where the keyboard goes away nobody looks any more: `stop` is called too, and LeaveAsked raised
    once that took effect.
    """
    gone = asyncio.Event()
    watching = asyncio.create_task(_watch(keyboard, stop, say_so, gone), name="key x")
    try:
        yield
    except HostctlError as halted:
        if gone.is_set():
            raise LeaveAsked from halted
        raise
    finally:
        watching.cancel()
        await asyncio.wait([watching])
    if gone.is_set():
        raise LeaveAsked
    if not watching.cancelled():
        watching.result()


async def _watch(
    keyboard: int,
    stop: Callable[[], None],
    say_so: Callable[[], Awaitable[None]],
    gone: asyncio.Event,
) -> None:
    keys, said = Keyboard(), False
    while data := await read_some(keyboard):
        if not keys.stops(data):
            continue
        stop()
        if not said:
            said = True
            await say_so()
    gone.set()
    stop()
