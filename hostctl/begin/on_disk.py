"""A file put in its place as a whole: whoever looks finds what was there before, or all of it."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

NEW = ".new"
"""Ends the name of a file that is not in its place yet; after a kill it may be left behind."""


def put_anew(path: Path, data: bytes) -> None:
    """In place of what was there, for its owner alone. Raises OSError: nothing is changed then."""
    fresh = _beside(path, data, 0o600)
    try:
        os.replace(fresh, path)
    except BaseException:
        _drop(fresh)
        raise
    _sync_folder(path.parent)


def put_first(path: Path, data: bytes) -> None:
    """Where nothing is. Raises FileExistsError where something is, OSError: nothing is left then.

    On a disk that knows no second names for a file, a kill may leave a half of it.
    """
    fresh = _beside(path, data, 0o666 & ~_umask())
    try:
        os.link(fresh, path)
    except FileExistsError:
        raise
    except OSError:
        _write(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), path, data)
    finally:
        _drop(fresh)
    _sync_folder(path.parent)


def _beside(path: Path, data: bytes, mode: int) -> Path:
    """A file of another name in the same folder, all of it on the disk."""
    opened, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=NEW, dir=path.parent)
    fresh = Path(name)
    _write(opened, fresh, data, mode)
    return fresh


def _write(opened: int, path: Path, data: bytes, mode: int | None = None) -> None:
    """All of it, on the disk; else `path` is taken away again."""
    try:
        try:
            left = memoryview(data)
            while left:
                left = left[os.write(opened, left) :]
            if mode is not None:
                os.fchmod(opened, mode)
            os.fsync(opened)
        finally:
            os.close(opened)
    except BaseException:
        _drop(path)
        raise


def _drop(path: Path) -> None:
    with suppress(OSError):
        os.unlink(path)


def _umask() -> int:
    """What this process takes away from a new file's mode; there is no way to ask without setting."""
    now = os.umask(0o077)
    os.umask(now)
    return now


def _sync_folder(folder: Path) -> None:
    """The folder's list of its files is on the disk too, where it can be."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
