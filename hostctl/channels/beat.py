"""The beat: what is done now and then is done by all at the same moment.

A computer that idles is woken once for all of them, not once for each.
"""

import asyncio


async def next_beat(every_s: float) -> None:
    """Wait until the event loop's clock shows a whole multiple of `every_s`."""
    loop = asyncio.get_running_loop()
    beat = asyncio.Event()
    waiting = loop.call_at((loop.time() // every_s + 1) * every_s, beat.set)
    try:
        await beat.wait()
    finally:
        waiting.cancel()
