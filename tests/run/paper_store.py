"""A store on paper: what the real one promises, in memory; it can be full."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime

from hostctl.errors import StoreError
from hostctl.store.rows import (
    NewEvent,
    NewMark,
    NewReading,
    NewRun,
    RunRecord,
    RunSummary,
    StoredReading,
)


class PaperStore:
    """Keeps rows in lists."""

    def __init__(self) -> None:
        self.run: NewRun | None = None
        self.readings: list[NewReading] = []
        self.marks: list[NewMark] = []
        self.events: list[NewEvent] = []
        self.is_full: Callable[[], bool] = lambda: False

    async def add_run(self, new: NewRun) -> int:
        self._room()
        self.run = new
        return 1

    async def add_reading(self, new: NewReading) -> StoredReading:
        self._room()
        self.readings.append(new)
        return self._stored(len(self.readings), new)

    async def add_mark(self, new: NewMark) -> None:
        self._room()
        self.marks.append(new)

    async def add_event(self, new: NewEvent) -> None:
        await asyncio.sleep(0)  # a disk takes its time
        self._room()
        self.events.append(new)

    def record(self) -> RunRecord:
        assert self.run is not None
        stored = [self._stored(number, new) for number, new in enumerate(self.readings, start=1)]
        summary = RunSummary(
            run=1,
            new=self.run,
            readings=len(stored),
            void=0,
            ended_at=None,
            complete=False,
            end_reason="",
        )
        return RunRecord(
            summary=summary, readings=stored, marks=list(self.marks), events=list(self.events)
        )

    # ------------------------------------------------------------ looked at by tests

    @property
    def counting(self) -> list[StoredReading]:
        """The readings that count, zeros left out, by block and trial."""
        stored = [one for one in self.record().readings if one.void is None]
        return sorted(
            (one for one in stored if not one.kept.is_zero),
            key=lambda one: (one.kept.place.block, one.kept.place.trial),
        )

    def values_mm(self) -> list[float]:
        return [one.kept.reading.value_mm for one in self.counting]

    def kinds(self) -> list[str]:
        return [event.kind for event in self.events]

    # ------------------------------------------------------------ inside

    def _room(self) -> None:
        if self.is_full():
            raise StoreError("paper", "the disk is full", "Make room.")

    def _stored(self, number: int, new: NewReading) -> StoredReading:
        place = new.place
        zeros = [
            other.reading.value_mm
            for other in self.readings
            if other.is_zero
            and (other.place.block, other.place.round) == (place.block, place.round)
        ]
        relative_mm = new.reading.value_mm - zeros[-1] if zeros else None
        return StoredReading(
            reading_id=number,
            stored_at=datetime.now(UTC),
            kept=new,
            void=self._void(new),
            relative_mm=relative_mm,
        )

    def _void(self, new: NewReading) -> str | None:
        place = new.place
        for mark in self.marks:
            same_block = (mark.block, mark.round) == (place.block, place.round)
            same_trial = mark.trial in (None, place.trial)
            same_attempt = mark.attempt in (None, place.attempt)
            if mark.mark == "void" and same_block and same_trial and same_attempt:
                return mark.reason
        return None
