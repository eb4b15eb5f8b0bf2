"""Taking one reading: asking for it, doubting it, keeping it."""

import asyncio
from dataclasses import dataclass, replace
from datetime import datetime
from math import isclose

from hostctl.config.machine import Point
from hostctl.config.study import Reference, Study
from hostctl.config.study_kind import words_of
from hostctl.errors import HostctlError, StoreError
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.machine.touch import Touch
from hostctl.news import Answer, Prompt, Word
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.record.answered import ASKED_AGAIN
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps import axis_words
from hostctl.run.steps.levelling import doubt
from hostctl.run.steps.levelling import words as level_words
from hostctl.run.wording import Words
from hostctl.store.rows import TOUCH_FAILED, NewReading

ON_GRID = 1e-3
"""A typed reading may miss its graduation by this share of one: what decimals cost."""

NOBODY = ""
"""The channel of a reading that nobody was asked for."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What somebody typed or had sent, when it was asked for and answered, and where."""

    value_mm: float
    prompted_at: datetime
    answered_at: datetime
    channel: str


class Taking:
    """Takes the readings of one run."""

    def __init__(
        self,
        *,
        study: Study,
        machine: Machine,
        gauge: Gauge,
        asking: Asking,
        journal: Journal,
        progress: Progress,
    ) -> None:
        self._study = study
        self._machine = machine
        self._gauge = gauge
        self._asking = asking
        self._journal = journal
        self._progress = progress
        self._near_mm: float | None = 0.0
        self._not_kept: tuple[Place, str] | None = None  # and why

    async def take(
        self,
        place: Place,
        point: Point,
        expected: Position,
        *,
        zero_by_hand: bool,
        near_mm: float | None = 0.0,
    ) -> None:
        """Take the reading of `place` and keep it; trial 0 is the block's zero.

        zero_by_hand: for trial 0, whether the indicator may be turned to zero.  near_mm: what it is
        likely to show, from its block's zero; None: nobody knows.
        """
        await self._void_not_kept()
        self._near_mm = near_mm
        typed: Typed | None = None
        if not self._gauge.typed and place.trial == 0 and self._is_previous:
            await self.zero_again(place)
        if self._gauge.typed or self._gauge.sends_on_press:
            typed = await self._ask_typed(place, zero_by_hand=zero_by_hand)
        if typed is not None:
            reading = await self._proved(place, point, expected, typed)
        else:
            reading = await self._touched(place, point, expected)
            await self._doubt(place, reading)
        await self._keep(place, reading, typed)

    def just_kept(self, place: Place) -> Place | None:
        """The reading kept last, if it is of the same block."""
        return self._progress.last_kept(place.block)

    async def zero_again(self, place: Place) -> None:
        """Have the indicator zeroed where it was just read; nothing is kept but the event."""
        words = wording.zero_indicator(self._study, place)
        while True:
            answer, _ = await self._asking.ask(words, place, self._gauge.resolution_mm)
            if answer.word is Word.DONE or not answer.reading_mm:
                break
            again = wording.must_be_zero(answer.reading_mm)
            await self._journal.note(ASKED_AGAIN, again, value_mm=answer.reading_mm)
            words = wording.zero_indicator(self._study, place, again)
        await self._journal.note("zeroed", f"after trial {place.trial} of block {place.block}")

    async def _ask_typed(self, place: Place, *, zero_by_hand: bool) -> Typed:
        by_hand = place.trial == 0 and zero_by_hand
        again, doubted_mm = "", None
        while True:
            words = self._words(place, by_hand, again)
            redo_takes = self.just_kept(place) if again and self._levels else None
            answer, prompt = await self._answered(words, place, redo_takes)
            value_mm = answer.reading_mm if answer.word is Word.READING else 0.0
            value_mm = value_mm or 0.0
            again = self._why_again(place, value_mm, doubted_mm)
            if not again:
                return Typed(value_mm, prompt.opened_at, answer.given_at, answer.channel)
            doubted_mm = value_mm
            await self._journal.note(
                ASKED_AGAIN, again, value_mm=value_mm, prompt_id=prompt.prompt_id
            )

    async def _answered(
        self, words: Words, place: Place, redo_takes: Place | None
    ) -> tuple[Answer, Prompt]:
        """By a person; a gauge that sends at a press hands the number in itself meanwhile."""
        resolution_mm = self._gauge.resolution_mm
        if not self._gauge.sends_on_press:
            return await self._asking.ask(words, place, resolution_mm, redo_takes)
        async with self._gauge.watch(self._asking.hand_in, self._asking.tell_trouble):
            return await self._asking.ask(words, place, resolution_mm, redo_takes)

    def _words(self, place: Place, by_hand: bool, again: str) -> Words:
        if self._gauge.sends_on_press:
            return axis_words.moving_on(wording.send_reading(place, again), self._study)
        if by_hand and self._levels:
            return level_words.free_plunger(place, again)
        if by_hand:
            return wording.zero_indicator(self._study, place, again)
        words = wording.read_indicator(place, self._gauge.resolution_mm, again)
        return axis_words.moving_on(words, self._study)

    def _why_again(self, place: Place, value_mm: float, doubted_mm: float | None) -> str:
        """Why a typed value is asked for again; empty when it is taken."""
        resolution_mm, sent = self._gauge.resolution_mm, self._gauge.sends_on_press
        graduations = value_mm / resolution_mm
        if abs(graduations - round(graduations)) > ON_GRID:
            return wording.off_grid(value_mm, resolution_mm, sent=sent)
        if place.trial == 0:
            must_be_zero = self._gauge.typed and self._is_previous and value_mm != 0
            return wording.must_be_zero(value_mm) if must_be_zero else ""
        if _same(value_mm, doubted_mm):
            return ""
        zero_mm, last = self._zero_mm(place), self.just_kept(place)
        first = last is not None and last.trial == 0
        if why := doubt.why_far(self._study, value_mm, zero_mm, sent=sent, first=first):
            return why
        if self._is_far(place, value_mm):
            plausible_mm, zero = self._study.gauge.plausible_mm, self._its_zero
            return wording.too_far(value_mm, plausible_mm, zero_mm, sent=sent, zero=zero)
        return ""

    @property
    def _levels(self) -> bool:
        return words_of(self._study.kind).turns_screws

    @property
    def _its_zero(self) -> str:
        return wording.AS_SENT if self._near_mm else wording.BLOCKS_ZERO

    @property
    def _is_previous(self) -> bool:
        return self._study.reference is Reference.PREVIOUS

    def _is_far(self, place: Place, value_mm: float) -> bool:
        if self._near_mm is None:
            return False
        return abs(value_mm - self._zero_mm(place)) > self._study.gauge.plausible_mm + 1e-9

    def _zero_mm(self, place: Place) -> float:
        """What a reading of this place is compared with."""
        if self._is_previous:
            return 0.0
        return (self._progress.zero_mm(place) or 0.0) + (self._near_mm or 0.0)

    async def _doubt(self, place: Place, reading: Reading) -> None:
        """A reading that nobody typed, but far from anything plausible: a person decides."""
        zero_mm, zero = self._zero_mm(place), self._its_zero
        far = doubt.far_from_pressed(self._study, reading.value_mm, zero_mm)
        if place.trial == 0 or not (far or self._is_far(place, reading.value_mm)):
            return
        words = wording.keep_far_reading(self._study, reading.value_mm, zero_mm, zero=zero)
        if far:
            words = replace(words, detail=far)
        await self._journal.note(ASKED_AGAIN, words.text, value_mm=reading.value_mm)
        await self._asking.ask(axis_words.moving_on(words, self._study), place)

    async def _touched(self, place: Place, point: Point, expected: Position) -> Reading:
        """What a gauge gives that nobody reads; its touches without a height are on record."""

        def note(touch: Touch) -> None:
            kind = TOUCH_FAILED if touch.failed else "touch report lost"
            at = {"block": place.block, "trial": place.trial, "point": place.point}
            self._journal.note_later(kind, touch.said, **at)

        remove = self._machine.probing.on_no_height.add(note)
        try:
            return await self._gauge.read(point, expected, None)
        finally:
            remove()
            await self._journal.write_down()

    async def _proved(
        self, place: Place, point: Point, expected: Position, typed: Typed
    ) -> Reading:
        """What was typed, with where the head was as it was read.

        What somebody read and typed never vanishes: where the proof fails it is kept, void.
        Raises what broke the proof, saying so.
        """
        try:
            return await self._gauge.read(point, expected, typed.value_mm)
        except HostctlError as fault:
            raise fault.saying_also(
                await self._kept_void(place, expected, typed, fault.what)
            ) from fault
        except asyncio.CancelledError:
            await self._kept_void(place, expected, typed, "the program was stopped")
            raise

    async def _kept_void(self, place: Place, at: Position, typed: Typed, why: str) -> str:
        """What has become of it, in words. at: where the head was before it was typed."""
        reading = Reading(
            value_mm=typed.value_mm,
            resolution_mm=self._gauge.resolution_mm,
            taken_at=typed.answered_at,
            source=self._gauge.source,
            at=at,
            temperatures=Temperatures(),
        )
        how = "sent" if self._gauge.sends_on_press else "typed"
        reason = f"{how}, but its place and heat could not be proved: {why}"
        said = f"{typed.value_mm:g} mm was {how}"
        self._progress.void(place)
        try:
            await self._journal.keep_void(_new(place, reading, typed), reason)
        except StoreError as lost:
            return f"{said} and could not be kept: {lost.what}"
        return f"{said}; it is kept, but void"

    async def _keep(self, place: Place, reading: Reading, typed: Typed | None) -> None:
        try:
            await self._store(place, reading, typed)
        except StoreError as why:
            self._not_kept = place, f"{reading.value_mm:g} mm could not be kept: {why.what}"
            self._progress.void(place)
            raise
        self._progress.keep(place, reading)

    async def _void_not_kept(self) -> None:
        """It may be on the disk for all that (a file moved in mid-commit), but it was refused."""
        if self._not_kept is not None:
            place, reason = self._not_kept
            await self._journal.mark(place, "void", reason)
            self._not_kept = None

    async def _store(self, place: Place, reading: Reading, typed: Typed | None) -> None:
        await self._journal.keep(_new(place, reading, typed))


def _new(place: Place, reading: Reading, typed: Typed | None) -> NewReading:
    return NewReading(
        place=place,
        is_zero=place.trial == 0,
        reading=reading,
        prompted_at=typed.prompted_at if typed else None,
        answered_at=typed.answered_at if typed else None,
        channel=typed.channel if typed else NOBODY,
    )


def _same(value_mm: float, doubted_mm: float | None) -> bool:
    return doubted_mm is not None and isclose(value_mm, doubted_mm, abs_tol=1e-9)
