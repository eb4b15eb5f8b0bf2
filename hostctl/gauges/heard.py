"""Hearing a gauge of its own for as long as somebody watches it, however often it goes away."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from hostctl.errors import PortError
from hostctl.gauges.gauge import OnTrouble

LOOK_AGAIN_S = 0.5
"""So often one that went away is looked for."""


@asynccontextmanager
async def heard(
    open_it: Callable[[], Awaitable[None]],
    until_lost: Callable[[], Awaitable[str]],
    on_trouble: OnTrouble,
) -> AsyncIterator[None]:
    """While it is entered. until_lost: hears it, and gives why it went away.

    Raises PortError on entering where it can't be opened.
    """
    await open_it()
    hearing = asyncio.create_task(_hear(open_it, until_lost, on_trouble), name="gauge heard")
    try:
        await asyncio.sleep(0)  # it hears from here on
        yield
    finally:
        hearing.cancel()
        await asyncio.wait([hearing])


async def _hear(
    open_it: Callable[[], Awaitable[None]],
    until_lost: Callable[[], Awaitable[str]],
    on_trouble: OnTrouble,
) -> None:
    while True:
        on_trouble(await until_lost())
        await _opened_again(open_it)


async def _opened_again(open_it: Callable[[], Awaitable[None]]) -> None:
    while True:
        await asyncio.sleep(LOOK_AGAIN_S)
        try:
            return await open_it()
        except PortError:
            continue
