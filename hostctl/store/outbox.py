"""Messages that wait for the broker, on the disk: in order, bounded, gone once delivered.

Unlike the record this is a queue, so rows are removed: what matters of them is in the record too.
`told_readings` says up to which reading each machine's readings were put here, so that those that
were stored just before a crash can still be told after it.
"""

import asyncio
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from hostctl.store.file.connection import connect_to_read
from hostctl.store.file.failure import in_users_words
from hostctl.store.mapping import READING_COLUMNS, reading_from
from hostctl.store.rows import StoredReading
from hostctl.store.writer import Row, Writer

_BEGIN = """INSERT INTO told_readings
    SELECT ?1, coalesce(max(reading_id), 0) FROM readings
    WHERE run IN (SELECT run FROM runs WHERE machine = ?1)
    ON CONFLICT DO NOTHING"""
_ADD = """INSERT OR IGNORE INTO outbox (machine, message_id, topic, payload, reading_id)
    VALUES (?, ?, ?, ?, ?)"""
_DROP_ONE = """DELETE FROM outbox WHERE seq = (
    SELECT seq FROM outbox WHERE machine = ? ORDER BY reading_id IS NOT NULL, seq LIMIT 1)"""
_REMOVE = "DELETE FROM outbox WHERE machine = ? AND seq <= ?"
_HOW_MANY_CHANGED = "SELECT changes(), ?"
_WAITING = """SELECT seq, topic, payload FROM outbox
    WHERE machine = ? AND seq > ? ORDER BY seq LIMIT ?"""
_COUNT = "SELECT count(*) FROM outbox WHERE machine = ?"
_UNTOLD = f"""SELECT reading_id, {READING_COLUMNS}, void, relative_mm FROM judged_readings
    WHERE run IN (SELECT run FROM runs WHERE machine = :machine)
    AND reading_id > (SELECT up_to FROM told_readings WHERE machine = :machine)
    ORDER BY reading_id"""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewMessage:
    """A message to deliver. One with a `reading_id` is dropped last when there are too many."""

    message_id: str
    topic: str
    payload: str
    reading_id: int | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """A message that waits; `seq` grows in the order in which they were added."""

    seq: int
    topic: str
    payload: str


class Outbox:
    """One machine's waiting messages. Made by `Store.outbox`; for one event loop."""

    def __init__(self, path: Path, writer: Writer, *, machine: str, most_waiting: int) -> None:
        self._path = path
        self._writer = writer
        self._machine = machine
        self._most_waiting = most_waiting
        self.waiting = 0

    async def open(self) -> None:
        """Count what waits from before; the first time, note from which reading on to tell.

        Raises StoreError.
        """
        await self._writer.write(_BEGIN, (self._machine,))
        ((self.waiting,),) = await self._read(_COUNT, (self._machine,))

    async def add(self, new: NewMessage) -> int:
        """Keep a message; gives how many older ones had to go. On the disk when it returns.

        One whose id waits already is not kept twice. Raises StoreError.
        """
        row = (self._machine, new.message_id, new.topic, new.payload, new.reading_id)
        full = self.waiting >= self._most_waiting
        changes = [self._counted(1, _ADD, row)]
        if full:
            changes.append(self._counted(-1, _DROP_ONE, (self._machine,)))
        _, *dropped = await asyncio.gather(*changes)
        return int(sum(gone for gone, _ in dropped))

    async def after(self, seq: int, *, at_most: int) -> list[Waiting]:
        """The messages that wait behind `seq`, oldest first. Raises StoreError."""
        rows = await self._read(_WAITING, (self._machine, seq, at_most))
        return [Waiting(*row) for row in rows]

    async def delivered(self, up_to_seq: int) -> None:
        """Forget what was delivered. Raises StoreError."""
        await self._counted(-1, _REMOVE, (self._machine, up_to_seq))

    async def untold(self) -> list[StoredReading]:
        """Readings stored after the last one that was put here (the program died in between).

        None of those that a machine had when its outbox was opened the first time. Raises
        StoreError.
        """
        rows = await self._read(_UNTOLD, {"machine": self._machine})
        return [reading_from(row) for row in rows]

    def _counted(self, sign: int, change: str, values: Row) -> asyncio.Future[Row]:
        """Write, and count how many more or fewer wait then, even if the caller is cancelled."""
        written = self._writer.write(change, values, _HOW_MANY_CHANGED)
        written.add_done_callback(partial(self._count, sign))
        return asyncio.shield(written)

    def _count(self, sign: int, written: asyncio.Future[Row]) -> None:
        if not written.cancelled() and written.exception() is None:
            self.waiting += sign * written.result()[0]

    async def _read(
        self, question: str, values: Sequence[Any] | dict[str, Any]
    ) -> list[tuple[Any, ...]]:
        return await asyncio.to_thread(_rows, self._path, question, values)


def _rows(
    path: Path, question: str, values: Sequence[Any] | dict[str, Any]
) -> list[tuple[Any, ...]]:
    with closing(connect_to_read(path)) as connection:
        try:
            return connection.execute(question, values).fetchall()
        except sqlite3.Error as cause:
            raise in_users_words(path, cause) from cause
