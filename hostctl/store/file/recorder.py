"""One machine is recorded into a database by one program at a time.

Several programs may share a database, each with machines of its own: SQLite keeps their rows
apart in time. Two that record the same machine would mix two printers, deliver each other's
messages, and could go on with a run that is still going on. The lock is the kernel's, on a file
beside the database: it goes with its process, however that ends; the file may stay.
"""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from hostctl.errors import StoreError
from hostctl.store.file.failure import forbidden

_END = ".lock"


@contextmanager
def recording(database: Path, machine: str) -> Iterator[None]:
    """Be the one program that records this machine. Raises StoreError when another one does."""
    path = database.with_name(f"{database.name}-{machine}{_END}")
    lock = _locked(path, database, machine)
    try:
        yield
    finally:
        with suppress(OSError):
            path.unlink()
        os.close(lock)


def recorded_elsewhere(database: Path) -> list[str]:
    """The machines that are recorded into this database now, by any program."""
    begin = f"{database.name}-"
    found = sorted(database.parent.glob(f"{begin}*{_END}"))
    return [path.name.removeprefix(begin).removesuffix(_END) for path in found if _is_locked(path)]


def _locked(path: Path, database: Path, machine: str) -> int:
    """The open lock, ours."""
    while True:
        try:
            lock = os.open(path, os.O_RDWR | os.O_CREAT, 0o640)
        except OSError as cause:
            raise forbidden(path) from cause
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as cause:
            process = os.pread(lock, 20, 0).decode(errors="replace") or "unknown"
            os.close(lock)
            raise _taken(database, machine, process) from cause
        if _is_at(path, lock):
            os.ftruncate(lock, 0)
            os.pwrite(lock, str(os.getpid()).encode(), 0)
            return lock
        os.close(lock)  # whoever had it removed the file meanwhile


def _is_at(path: Path, lock: int) -> bool:
    try:
        return os.path.samestat(path.stat(), os.fstat(lock))
    except OSError:
        return False


def _is_locked(path: Path) -> bool:
    try:
        lock = os.open(path, os.O_RDONLY)
    except OSError:
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return True
    finally:
        os.close(lock)
    return False


def _taken(database: Path, machine: str, process: str) -> StoreError:
    return StoreError(
        str(database),
        f"machine '{machine}' is recorded into it by another program already (process {process})",
        "Stop that one first; where it is the daemon, 'hostctl start' has it carry a study out.",
    )
