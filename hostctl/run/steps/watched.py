"""A screw turned while the indicator over it is watched: what it shows is told, and not kept."""

import asyncio

from hostctl.deeds import TurnScrew
from hostctl.gauges.gauge import Gauge
from hostctl.records import Place
from hostctl.run.asking import Asking
from hostctl.run.wording import Words

BETWEEN_S = 0.2
"""Told at most so often: five times a second is as fast as eyes follow (choice ours)."""


async def turn_watched(
    words: Words, deed: TurnScrew, place: Place, *, gauge: Gauge, asking: Asking
) -> None:
    """Have a screw turned. Raises what breaks into it."""
    if not gauge.live or deed.target_mm is None:
        await asking.ask(words, place)
        return
    live = _Live(deed.target_mm, gauge.resolution_mm, asking)
    try:
        async with gauge.watch(live.shows, asking.tell_trouble):
            await asking.ask(words, place)
    finally:
        live.end()


class _Live:
    """Tells the newest value, at once or as soon as it may; those between are let go."""

    def __init__(self, target_mm: float, resolution_mm: float, asking: Asking) -> None:
        self._target_mm = target_mm
        self._resolution_mm = resolution_mm
        self._asking = asking
        self._newest_mm = 0.0
        self._next_s = 0.0
        self._due: asyncio.TimerHandle | None = None

    def shows(self, value_mm: float) -> None:
        """The indicator shows this now."""
        self._newest_mm = value_mm
        if self._due is None:
            loop = asyncio.get_running_loop()
            self._due = loop.call_at(max(self._next_s, loop.time()), self._tell)

    def end(self) -> None:
        """The screw is turned, or not to be turned: nothing more is told."""
        if self._due is not None:
            self._due.cancel()

    def _tell(self) -> None:
        self._due = None
        self._next_s = asyncio.get_running_loop().time() + BETWEEN_S
        self._asking.tell_live(self._newest_mm, self._target_mm, self._resolution_mm)
