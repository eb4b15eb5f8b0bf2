"""A file put in its place as a whole: whoever looks finds what was there before, or all of it."""

import os
import secrets
from contextlib import suppress
from pathlib import Path

NEW = ".new"
"""Ends the name of a file that is not in its place yet; a kill may leave one behind."""
OWNER_ALONE, AS_USUAL = 0o600, 0o666


def put_anew(path: Path, data: bytes) -> None:
    """In place of what was there, for its owner alone. Raises OSError: nothing is changed then."""
    fresh = _beside(path)
    _write(fresh, data, OWNER_ALONE)
    try:
        fresh.replace(path)
    except BaseException:
        _drop(fresh)
        raise
    _sync_folder(path.parent)


def put_first(path: Path, data: bytes) -> None:
    """Where nothing is. Raises FileExistsError where something is, OSError: nothing is left then.

    On a disk where a file can't have two names, a kill may leave a part of it.
    """
    fresh = _beside(path)
    _write(fresh, data, AS_USUAL)
    try:
        path.hardlink_to(fresh)
    except FileExistsError:
        raise
    except OSError:
        _write(path, data, AS_USUAL)
    finally:
        _drop(fresh)
    _sync_folder(path.parent)


def _beside(path: Path) -> Path:
    """A name in the same folder that nothing has."""
    return path.with_name(f".{path.name}.{secrets.token_hex(6)}{NEW}")


def _write(path: Path, data: bytes, mode: int) -> None:
    """A new file, all of it on the disk. Raises OSError: it is taken away again then."""
    opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    try:
        try:
            left = memoryview(data)
            while left:
                left = left[os.write(opened, left) :]
            os.fsync(opened)
        finally:
            os.close(opened)
    except BaseException:
        _drop(path)
        raise


def _drop(path: Path) -> None:
    with suppress(OSError):
        path.unlink()


def _sync_folder(folder: Path) -> None:
    """The folder's list of its files is on the disk too, where that can be said of it."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
