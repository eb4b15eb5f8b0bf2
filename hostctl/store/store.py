"""The store, for the process that records: what is acknowledged is on the disk."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Self

from hostctl.store.mapping import (
    EVENT_COLUMNS,
    MARK_COLUMNS,
    READING_COLUMNS,
    RUN_COLUMNS,
    event_row,
    insert_into,
    mark_row,
    reading_row,
    run_row,
)
from hostctl.store.outbox import Outbox
from hostctl.store.reading import last_report, list_runs, read_record, standing_thermal_fault
from hostctl.store.rows import (
    KeptReport,
    NewEvent,
    NewMark,
    NewReading,
    NewRun,
    RunRecord,
    RunSummary,
    StoredReading,
)
from hostctl.store.writer import Writer

_ADD_RUN = insert_into("runs", RUN_COLUMNS)
_ADD_READING = insert_into("readings", READING_COLUMNS)
_ADD_MARK = insert_into("marks", MARK_COLUMNS)
_ADD_EVENT = insert_into("events", EVENT_COLUMNS)
_JUDGED = "SELECT reading_id, void, relative_mm FROM judged_readings WHERE reading_id = ?"


def utc_now() -> datetime:
    """The wall clock, in UTC."""
    return datetime.now(UTC)


class Store:
    """Runs, readings, marks and events, added one by one and never changed.

    Each `add_…` returns only when the row is on the disk; a caller that is cancelled meanwhile
    does not stop the row. Each raises StoreError when the row is refused or can't be written
    (the disk is full, another program holds the database); the store stays usable. Times are
    kept in UTC to the millisecond; ValueError when one has no time zone.
    """

    def __init__(self, path: Path, writer: Writer, now: Callable[[], datetime]) -> None:
        self.path = path
        self._writer = writer
        self._now = now

    @classmethod
    async def open(
        cls, path: Path, *, now: Callable[[], datetime] = utc_now, busy_s: float = 5.0
    ) -> Self:
        """Open the database, made new if need be. `busy_s`: how long to wait for other writers.

        Raises StoreError when it can't be opened or made, is not ours, or is newer than we are.
        """
        writer = Writer(path, busy_s=busy_s)
        await writer.open()
        return cls(path, writer, now)

    @classmethod
    @asynccontextmanager
    async def opened(cls, path: Path) -> AsyncIterator[Self]:
        """`async with Store.opened(path) as store: …`"""
        store = await cls.open(path)
        try:
            yield store
        finally:
            await store.close()

    async def close(self) -> None:
        """Write what was handed over, then close the database."""
        await self._writer.close()

    async def add_run(self, new: NewRun) -> int:
        """Begin a run; gives its number."""
        (run,) = await self._writer.write(_ADD_RUN, run_row(new))
        return int(run)

    async def add_reading(self, new: NewReading) -> StoredReading:
        """Keep a reading, and say what it is worth (see `schema`).

        A second one of the same run, block, round, trial, attempt and `is_zero` is refused.
        """
        stored_at = self._now()
        reading_id, void, relative_mm = await self._writer.write(
            _ADD_READING, reading_row(new, stored_at), _JUDGED
        )
        return StoredReading(
            reading_id=reading_id,
            stored_at=stored_at,
            kept=new,
            void=void,
            relative_mm=relative_mm,
        )

    async def add_mark(self, new: NewMark) -> None:
        """Mark a trial void or skipped; what was read of it stays."""
        await self._writer.write(_ADD_MARK, mark_row(new))

    async def add_event(self, new: NewEvent) -> None:
        """Keep what happened."""
        await self._writer.write(_ADD_EVENT, event_row(new))

    async def outbox(self, machine: str, *, most_waiting: int) -> Outbox:
        """The messages of a machine that wait to be delivered."""
        outbox = Outbox(self.path, self._writer, machine=machine, most_waiting=most_waiting)
        await outbox.open()
        return outbox

    async def answers(self) -> None:
        """Come back once the writing thread has had the database to itself; nothing is written.

        For a watchdog: a database that was moved away is no reason to start again, a locked one is.
        Raises StoreError when it can't have it.
        """
        await self._writer.write("SELECT 1", (), records=False)

    async def record(self, run: int) -> RunRecord:
        """All that is known of a run. Raises StoreError when there is no such run."""
        return await asyncio.to_thread(read_record, self.path, run)

    async def runs(self) -> list[RunSummary]:
        """Every run, oldest first."""
        return await asyncio.to_thread(list_runs, self.path)

    async def last_report(self, run: int) -> KeptReport | None:
        """The report that was made last of a run; None: none was, or the run went on since."""
        return await asyncio.to_thread(last_report, self.path, run)

    async def thermal_fault(self, machine: str) -> str | None:
        """The thermal fault of a machine that nobody has looked at yet; None: there is none."""
        return await asyncio.to_thread(standing_thermal_fault, self.path, machine)
