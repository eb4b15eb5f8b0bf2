"""What SQLite says, in the user's words."""

import sqlite3
from pathlib import Path

from hostctl.errors import StoreError
from hostctl.store.file.location import FILE_NAME

_FULL = (
    "the disk is full, so this was not recorded",
    "Free some space and give the answer again; what was acknowledged is safe.",
)
_FORBIDDEN = (
    "it can't be opened or written",
    "Check that file and folder exist and are yours, or name another in HOSTCTL_DATABASE.",
)
_BUSY = (
    "another program is writing to it and does not finish",
    "Wait for that program or stop it, then try again.",
)
_NOT_OURS = (
    "this is not a hostctl database",
    "Move the file away, or name another in HOSTCTL_DATABASE.",
)
_DAMAGED = (
    "the database is damaged",
    "Keep a copy of it, then go back to your last backup or start a new one.",
)
_NO_DISK = (
    "the disk does not answer as it should",
    "Look at the disk or card and its cable. An answer just given was not recorded: give it again.",
)

_BY_PRIMARY_CODE = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_CANTOPEN: _FORBIDDEN,
    sqlite3.SQLITE_PERM: _FORBIDDEN,
    sqlite3.SQLITE_READONLY: _FORBIDDEN,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_PROTOCOL: _BUSY,
    sqlite3.SQLITE_NOTADB: _NOT_OURS,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_IOERR: _NO_DISK,
}

_BY_EXTENDED_CODE = {
    sqlite3.SQLITE_IOERR_SHMSIZE: _FULL,  # no room for the index of the write-ahead log
    sqlite3.SQLITE_CONSTRAINT_UNIQUE: (
        "this reading is stored already",
        "Nothing is recorded twice: count it as a new attempt.",
    ),
    sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY: (
        "there is no such run",
        "'hostctl runs' lists those there are.",
    ),
}


def in_users_words(path: Path, cause: sqlite3.Error | OverflowError | ValueError) -> StoreError:
    """The StoreError that says what `cause` means for whoever uses the database at `path`."""
    code = getattr(cause, "sqlite_errorcode", None)
    if code is None:
        return StoreError(str(path), f"it can't hold this value ({cause})", "Report this as a bug.")
    words = _BY_EXTENDED_CODE.get(code) or _BY_PRIMARY_CODE.get(code & 0xFF)
    what, next_step = words or (f"the row is refused ({cause})", "Report this as a bug.")
    return StoreError(str(path), what, next_step)


def not_ours(path: Path) -> StoreError:
    """The file is a database, but of another program."""
    return StoreError(str(path), *_NOT_OURS)


def forbidden(path: Path) -> StoreError:
    """The file or its folder can't be reached."""
    return StoreError(str(path), *_FORBIDDEN)


def vanished(path: Path) -> StoreError:
    """Not there any more, though it was opened."""
    return StoreError(
        str(path),
        "it was moved or removed while it was recorded to, so this was not recorded",
        "Put it back and go on; where that can't be, end the run and start the program again.",
    )


def replaced(path: Path) -> StoreError:
    """Another file lies where the one lay that was opened."""
    return StoreError(
        str(path),
        "another file was put in its place while it was recorded to, so this was not recorded",
        "Put back the one that was there and go on, or end the run and start the program again.",
    )


def no_file(path: Path) -> StoreError:
    """Something else than a file has this name: a folder, a device."""
    if path.is_dir():
        next_step = f"Name a file in it, as {path / FILE_NAME}"
        return StoreError(str(path), "is a folder, not a database", next_step)
    return StoreError(str(path), "is no plain file", "Name one, or the place for a new one.")


def no_database(path: Path) -> StoreError:
    """Nothing was recorded yet, or the path is wrong."""
    return StoreError(
        str(path),
        "there is no database here yet",
        "Record a run first, or name the right one: --database PATH, or HOSTCTL_DATABASE.",
    )


def no_run(path: Path, run: int) -> StoreError:
    """The run that was asked for is not in this database."""
    return StoreError(str(path), f"it holds no run {run}", "'hostctl runs' lists those there are.")
