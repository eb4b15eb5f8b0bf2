"""A bell for those who watch the daemon's machines."""

import asyncio


class Changes:
    """Rung at any change, and heard by whoever waits then."""

    def __init__(self) -> None:
        self._waiting: set[asyncio.Event] = set()

    def ring(self) -> None:
        """Something changed."""
        for waiting in self._waiting:
            waiting.set()

    async def next(self, within_s: float) -> None:
        """Wait for the next change, `within_s` at the longest."""
        heard = asyncio.Event()
        self._waiting.add(heard)
        try:
            async with asyncio.timeout(within_s):
                await heard.wait()
        except TimeoutError:
            return
        finally:
            self._waiting.discard(heard)
