"""The one thread that writes, and its group commit.

The event loop collects what is to be written in one of its turns, hands it over and goes on; the
thread takes all that waits, puts it into one transaction, and only when that is on the disk are
the callers told, each with its own outcome. So one slow synchronisation serves everybody who waited
for it. A caller that is cancelled loses the answer, never the row. After a failure (a full disk)
nothing of that transaction is kept, each caller is told, and the thread goes on with what comes
next. The same when the file is no longer the one at its path: looked at before each transaction,
and once more when it is on the disk, since it may have been moved meanwhile.
"""

import asyncio
import sqlite3
import threading
from collections.abc import Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any

from hostctl.errors import StoreError
from hostctl.store.file.connection import connect_to_write
from hostctl.store.file.failure import in_users_words
from hostctl.store.file.same_files import SameFiles

Row = tuple[Any, ...]


@dataclass(slots=True)
class Write:
    """One row to write; `then` is asked about it, by its row id, in the same transaction."""

    insert: str
    values: Row
    then: str
    records: bool
    written: asyncio.Future[Row]


Outcome = tuple[asyncio.Future[Row], Row | StoreError]


class Writer:
    """Writes rows in the order in which they were given. Belongs to one event loop."""

    def __init__(self, path: Path, *, busy_s: float) -> None:
        self._path = path
        self._busy_s = busy_s
        self._loop = asyncio.get_running_loop()
        self._this_turn: list[Write] = []
        self._handed_over: SimpleQueue[list[Write]] = SimpleQueue()  # an empty list: close
        self._opened: asyncio.Future[Row] = self._loop.create_future()
        self._closed: asyncio.Future[Row] = self._loop.create_future()
        self._closing = False
        self._thread = threading.Thread(target=self._work, name="hostctl store", daemon=True)

    async def open(self) -> None:
        """Open the database, in the writing thread. Raises StoreError."""
        self._thread.start()
        try:
            await self._opened
        except BaseException:
            self._handed_over.put([])
            raise

    def write(
        self, insert: str, values: Row, then: str = "SELECT ?", *, records: bool = True
    ) -> asyncio.Future[Row]:
        """Give a row. The future gives what `then` finds, once the row is on the disk.

        records: False where nothing is written, so that it does not matter where the file is.
        The future raises StoreError when the row is refused or can't be written.
        """
        if self._closing or self._closed.done():
            raise self._stopped()
        written: asyncio.Future[Row] = self._loop.create_future()
        if not self._this_turn:
            self._loop.call_soon(self._hand_over)
        self._this_turn.append(Write(insert, values, then, records, written))
        return written

    async def close(self) -> None:
        """Write what was given, then close the database."""
        if not self._closing:
            self._closing = True
            self._hand_over()
            self._handed_over.put([])
        await asyncio.shield(self._closed)

    def _hand_over(self) -> None:
        if self._this_turn:
            self._handed_over.put(self._this_turn)
            self._this_turn = []

    def _stopped(self) -> StoreError:
        return StoreError(str(self._path), "recording has stopped", "Start the program again.")

    # ------------------------------------------------------------ in the writing thread

    def _work(self) -> None:
        batch: list[Write] = []
        try:
            with closing(connect_to_write(self._path, busy_s=self._busy_s)) as connection:
                files = SameFiles(self._path)
                self._tell([(self._opened, ())])
                while batch := self._all_that_waits():
                    self._tell(self._commit(connection, files, batch))
        except StoreError as error:
            self._tell([(self._opened, error)])
        finally:  # only after a bug of ours does anybody still wait
            self._tell([(write.written, self._stopped()) for write in batch])
            self._tell([(self._opened, self._stopped()), (self._closed, ())])

    def _all_that_waits(self) -> list[Write]:
        batch = self._handed_over.get()
        with suppress(Empty):
            while batch:
                more = self._handed_over.get_nowait()
                if not more:
                    self._handed_over.put(more)  # first the batch; then this is found again
                    break
                batch += more
        return batch

    def _commit(
        self, connection: sqlite3.Connection, files: SameFiles, batch: Sequence[Write]
    ) -> list[Outcome]:
        try:
            self._check(files, batch)
            connection.execute("BEGIN IMMEDIATE")
            outcomes = [(write.written, self._insert(connection, write)) for write in batch]
            connection.execute("COMMIT")
            self._check(files, batch)
        except StoreError as elsewhere:
            return [(write.written, elsewhere) for write in batch]
        except sqlite3.Error as cause:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            return [(write.written, in_users_words(self._path, cause)) for write in batch]
        return outcomes

    def _check(self, files: SameFiles, batch: Sequence[Write]) -> None:
        if any(write.records for write in batch):
            files.check()

    def _insert(self, connection: sqlite3.Connection, write: Write) -> Row | StoreError:
        try:
            row_id = connection.execute(write.insert, write.values).lastrowid
        except (sqlite3.IntegrityError, OverflowError, ValueError) as cause:
            return in_users_words(self._path, cause)  # this row alone; the others go on
        found: Row = connection.execute(write.then, (row_id,)).fetchone()
        return found

    def _tell(self, outcomes: list[Outcome]) -> None:
        with suppress(RuntimeError):  # the loop is gone, and with it whoever waited
            self._loop.call_soon_threadsafe(_set, outcomes)


def _set(outcomes: list[Outcome]) -> None:
    for future, outcome in outcomes:
        if future.done():  # cancelled meanwhile; the row is written all the same
            continue
        if isinstance(outcome, StoreError):
            future.set_exception(outcome)
        else:
            future.set_result(outcome)
