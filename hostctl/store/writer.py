"""The one thread that writes, and its group commit.

The event loop hands rows over and goes on; the thread takes all that wait, puts them into one
transaction, and only when that is on the disk are their callers told, each with its own outcome. So
one slow synchronisation serves everybody who waited for it. A caller that is cancelled loses the
answer, never the row. After a failure (a full disk) nothing of that transaction is kept, each
caller is told, and the thread goes on with what comes next.
"""

import asyncio
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from hostctl.errors import StoreError
from hostctl.store.connection import connect_to_write
from hostctl.store.failure import in_users_words

Row = tuple[Any, ...]
_MOST_IN_ONE_COMMIT = 1000


@dataclass(frozen=True, slots=True)
class Write:
    """One row to write; `then` is asked about it, by its row id, in the same transaction."""

    insert: str
    values: Row
    then: str
    written: asyncio.Future[Row]


Outcome = tuple[asyncio.Future[Row], Row | StoreError]


class Writer:
    """Writes rows in the order in which they were handed over. Belongs to one event loop."""

    def __init__(self, path: Path, *, busy_s: float) -> None:
        self._path = path
        self._busy_s = busy_s
        self._loop = asyncio.get_running_loop()
        self._writes: SimpleQueue[Write | None] = SimpleQueue()  # None: close when done
        self._opened: asyncio.Future[Row] = self._loop.create_future()
        self._closed: asyncio.Future[Row] = self._loop.create_future()
        self._unanswered: set[asyncio.Future[Row]] = set()
        self._closing = False
        self._thread = threading.Thread(target=self._work, name="hostctl store", daemon=True)

    async def open(self) -> None:
        """Open the database, in the writing thread. Raises StoreError."""
        self._thread.start()
        try:
            await self._opened
        except BaseException:
            self._writes.put(None)
            raise

    def write(self, insert: str, values: Row, then: str = "SELECT ?") -> asyncio.Future[Row]:
        """Hand a row over. The future gives what `then` finds once the row is on the disk.

        The future raises StoreError when the row is refused or can't be written.
        """
        if self._closing or self._closed.done():
            raise self._stopped()
        written: asyncio.Future[Row] = self._loop.create_future()
        self._unanswered.add(written)
        written.add_done_callback(self._unanswered.discard)
        self._writes.put(Write(insert, values, then, written))
        return written

    async def close(self) -> None:
        """Write what was handed over, then close the database."""
        if not self._closing:
            self._closing = True
            self._writes.put(None)
        await asyncio.shield(self._closed)

    def _leave_nobody_waiting(self) -> None:
        """The thread is gone: whoever still waits (only after a bug of ours) is told so."""
        for future in (self._opened, *self._unanswered):
            if not future.done():
                future.set_exception(self._stopped())
        self._closed.set_result(())

    def _stopped(self) -> StoreError:
        return StoreError(str(self._path), "recording has stopped", "Start the program again.")

    # ------------------------------------------------------------ in the writing thread

    def _work(self) -> None:
        try:
            connection = connect_to_write(self._path, busy_s=self._busy_s)
            with closing(connection):
                self._tell(_set, [(self._opened, ())])
                while batch := self._all_that_wait():
                    self._tell(_set, self._commit(connection, batch))
        except StoreError as error:
            self._tell(_set, [(self._opened, error)])
        finally:
            self._tell(self._leave_nobody_waiting)

    def _all_that_wait(self) -> list[Write]:
        batch: list[Write] = []
        write = self._writes.get()
        with suppress(Empty):
            while write is not None and len(batch) < _MOST_IN_ONE_COMMIT:
                batch.append(write)
                write = self._writes.get_nowait()
        if write is None and batch:
            self._writes.put(None)  # the batch first; then this is found again
        return batch

    def _commit(self, connection: sqlite3.Connection, batch: list[Write]) -> list[Outcome]:
        try:
            connection.execute("BEGIN IMMEDIATE")
            outcomes = [(write.written, self._insert(connection, write)) for write in batch]
            connection.execute("COMMIT")
        except sqlite3.Error as cause:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            return [(write.written, in_users_words(self._path, cause)) for write in batch]
        return outcomes

    def _insert(self, connection: sqlite3.Connection, write: Write) -> Row | StoreError:
        try:
            row_id = connection.execute(write.insert, write.values).lastrowid
        except (sqlite3.IntegrityError, OverflowError, ValueError) as cause:
            return in_users_words(self._path, cause)  # this row alone; the others go on
        found: Row = connection.execute(write.then, (row_id,)).fetchone()
        return found

    def _tell(self, how: Callable[..., None], *outcomes: list[Outcome]) -> None:
        with suppress(RuntimeError):  # the loop is gone, and with it whoever waited
            self._loop.call_soon_threadsafe(how, *outcomes)


def _set(outcomes: list[Outcome]) -> None:
    for future, outcome in outcomes:
        if future.done():  # cancelled meanwhile; the row is written all the same
            continue
        if isinstance(outcome, StoreError):
            future.set_exception(outcome)
        else:
            future.set_result(outcome)
