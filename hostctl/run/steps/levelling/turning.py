"""A screw turned: away before a setting, or as a levelling advises, its indicator watched.

What the indicator over it shows meanwhile is told, and not kept.
"""

import asyncio

from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.deeds import TurnScrew
from hostctl.gauges.gauge import Gauge
from hostctl.records import Place
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.steps.levelling import words as level_words

BETWEEN_S = 0.2
"""Told at most so often: five times a second is as fast as eyes follow (choice ours)."""


class Turning:
    """Has screws turned in one run."""

    def __init__(self, study: Study, machine: Machine, gauge: Gauge, asking: Asking) -> None:
        self._study = study
        self._machine = machine
        self._gauge = gauge
        self._asking = asking
        self.levels = words_of(study.kind).turns_screws

    async def turn(self, deed: TurnScrew, place: Place, just_kept: Place | None) -> None:
        """One. just_kept: the reading before it. Raises what breaks into it."""
        if self.levels:
            await self._level(deed, place)
            return
        # Nothing of this trial is done yet, so a redo here means the one just read.
        words = wording.turn_away(deed, place, just_kept)
        await self._asking.ask(words, place, redo_takes=just_kept)

    async def _level(self, deed: TurnScrew, place: Place) -> None:
        words, gauge = level_words.turn(deed, self._study, self._machine), self._gauge
        if not gauge.live or deed.target_mm is None:
            await self._asking.ask(words, place)
            return
        live = _Live(deed.target_mm, gauge.resolution_mm, self._asking)
        try:
            async with gauge.watch(live.shows, self._asking.tell_trouble):
                await self._asking.ask(words, place)
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
