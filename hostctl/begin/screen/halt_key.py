"""Key x while something moves: the machine is told to halt at once; no other key counts."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress

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
    once that took effect. So it is where the program is interrupted.
    """
    pressed, gone = asyncio.Event(), asyncio.Event()
    watching = asyncio.create_task(_watch(keyboard, stop, pressed, gone), name="key x")
    saying = asyncio.create_task(_say_once(pressed, say_so), name="told to halt")
    try:
        yield
    except asyncio.CancelledError:
        stop()
        with suppress(LeaveAsked):
            await say_so()
        raise
    except HostctlError as halted:
        if gone.is_set():
            raise LeaveAsked from halted
        raise
    finally:
        watching.cancel()
        if not pressed.is_set():  # the halt ends the motion at once, and is said all the same
            saying.cancel()
        await asyncio.wait([watching, saying])
    if gone.is_set():
        raise LeaveAsked
    for task in (watching, saying):
        if not task.cancelled():
            task.result()


async def _watch(
    keyboard: int, stop: Callable[[], None], pressed: asyncio.Event, gone: asyncio.Event
) -> None:
    keys = Keyboard()
    while data := await read_some(keyboard):
        if keys.stops(data):
            stop()
            pressed.set()
    gone.set()
    stop()


async def _say_once(pressed: asyncio.Event, say_so: Callable[[], Awaitable[None]]) -> None:
    await pressed.wait()
    await say_so()
