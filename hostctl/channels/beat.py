"""The beat: what is done now and then is done by all at the same moment.

A computer that idles is then woken once for all of them, not once for each.
"""

import asyncio


def seconds_to_beat(every_s: float) -> float:
    """How long it is until the event loop's clock shows a whole multiple of `every_s`."""
    return every_s - asyncio.get_running_loop().time() % every_s


async def next_beat(every_s: float) -> None:
    """Wait until then."""
    await asyncio.sleep(seconds_to_beat(every_s))
