"""Opening the database, to write or to read.

Write-ahead log with full synchronisation: a commit returns when its bytes are on the disk. The log
file is stretched beforehand, because growing a file makes the file system write its own journal
too (committing into space already there takes about 0.6 of the time), and so that a disk that
fills up leaves room for the next readings. SQLite ignores what lies behind the last valid frame of
a log (its file format, section 4), so the stretch may hold zeros.
"""

import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Any

from hostctl.errors import StoreError
from hostctl.store.file.failure import forbidden, in_users_words, no_database, no_file, no_run
from hostctl.store.file.schema import migrate

MODE = 0o640
_PAGES_BEFORE_CHECKPOINT = 256
_LOG_HEADER_BYTES, _FRAME_HEADER_BYTES, _PAGE_BYTES = 32, 24, 4096
_LOG_FRAMES = _PAGES_BEFORE_CHECKPOINT + 64
_LOG_BYTES = _LOG_HEADER_BYTES + _LOG_FRAMES * (_FRAME_HEADER_BYTES + _PAGE_BYTES)


def connect_to_write(path: Path, *, busy_s: float) -> sqlite3.Connection:
    """Open the database, made new if need be; `busy_s`: how long to wait for another writer.

    Raises StoreError when it can't be opened or made, is not ours, or is newer than we are.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise forbidden(path) from cause
    _make_private(path)
    connection = _connect(path, "rwc", busy_s)
    try:
        _reserve_log(connection, path)
    except sqlite3.Error as cause:
        connection.close()
        raise in_users_words(path, cause) from cause
    return connection


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open a database that is there; nothing can be written through it.

    Raises StoreError when it is not there, can't be opened, is not ours, or is newer than we are.
    """
    connection = _connect(_there(path), "rw", busy_s=5.0)
    connection.execute("PRAGMA query_only = ON")
    return connection


def connect_to_add(path: Path, *, busy_s: float) -> sqlite3.Connection:
    """Open a database that is there, for a row now and then: its log is not stretched for it.

    Raises StoreError as `connect_to_read`, and where another writer does not finish in time.
    """
    return _connect(_there(path), "rw", busy_s)


def row_of_run(connection: sqlite3.Connection, path: Path, query: str, run: int) -> tuple[Any, ...]:
    """The one row that `query` gives for `run`. Raises StoreError when there is no such run."""
    try:
        row: tuple[Any, ...] | None = connection.execute(query, (run,)).fetchone()
    except OverflowError:  # larger than SQLite's numbers
        row = None
    if row is None:
        raise no_run(path, run)
    return row


def _there(path: Path) -> Path:
    try:
        path.stat()
    except FileNotFoundError as cause:
        raise no_database(path) from cause
    except OSError as cause:
        raise forbidden(path) from cause
    return path


def _make_private(path: Path) -> None:
    """A new database is for its owner and group at most. SQLite gives its log the same mode."""
    with suppress(OSError):  # it is there already; or it can't be made, which opening it tells
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, MODE))


def _connect(path: Path, mode: str, busy_s: float) -> sqlite3.Connection:
    if path.exists() and not path.is_file():
        raise no_file(path)
    try:
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}",
            uri=True,
            timeout=busy_s,
            isolation_level=None,
        )
    except sqlite3.Error as cause:
        raise in_users_words(path, cause) from cause
    try:
        _settle(connection, path)
    except sqlite3.Error as cause:
        connection.close()
        raise in_users_words(path, cause) from cause
    except StoreError:
        connection.close()
        raise
    return connection


def _settle(connection: sqlite3.Connection, path: Path) -> None:
    for setting in (
        "synchronous = FULL",
        "foreign_keys = ON",
        "recursive_triggers = ON",  # without it REPLACE would remove rows past the triggers
        f"wal_autocheckpoint = {_PAGES_BEFORE_CHECKPOINT}",
    ):
        connection.execute(f"PRAGMA {setting}")
    migrate(connection, path)
    (mode,) = connection.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise StoreError(
            str(path),
            "its disk allows no write-ahead log (a network disk?)",
            "Keep the database on a disk of this computer.",
        )


def _reserve_log(connection: sqlite3.Connection, path: Path) -> None:
    """Stretch the log. While the write lock is held nobody else can append to it."""
    log = path.with_name(path.name + "-wal")
    connection.execute("BEGIN IMMEDIATE")
    try:
        with log.open("ab") as file:
            file.write(bytes(max(0, _LOG_BYTES - file.tell())))
            file.flush()
            os.fdatasync(file.fileno())
    except OSError:
        pass  # no room: readings are refused one by one when they don't fit
    finally:
        connection.execute("ROLLBACK")
