"""Where the traceback of our own bugs is kept, so that no user has to read one.

A daemon keeps a file handle spare for it: too few of them may be the very fault.
"""

import logging
import os
import tempfile
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from hostctl.store.file.location import database_path

_spare: list[int] = []


def spare_a_handle() -> None:
    """Keep a file handle for the log from now on. Raises OSError when there is none."""
    if not _spare:
        _spare.append(os.open(os.devnull, os.O_RDONLY))


def keep_fault(fault: Exception) -> str:
    """Append the traceback to the fault log; gives the one line for the user. Raises nothing."""
    text = "".join(traceback.format_exception(fault))
    stamp = datetime.now(UTC).isoformat(timespec="seconds")
    spared = bool(_spare)
    while _spare:
        os.close(_spare.pop())
    try:
        path = _written(f"--- {stamp}\n{text}\n")
    finally:
        if spared:
            with suppress(OSError):
                spare_a_handle()
    if path is None:
        return f"hostctl: a fault of its own ({type(fault).__name__}: {fault}). Please report it."
    return f"hostctl: a fault of its own ({type(fault).__name__}). Please report {path}."


class LoggedFaults(logging.Handler):
    """Into the fault log goes what of ours failed where it could only be logged."""

    def __init__(self, say: Callable[[str], object]) -> None:
        """say: given the one line for the user."""
        super().__init__(logging.ERROR)
        self._say = say

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one, if it is a fault."""
        fault = record.exc_info[1] if record.exc_info else None
        if isinstance(fault, Exception):
            self._say(keep_fault(fault))


@contextmanager
def logged_faults_kept(say: Callable[[str], object]) -> Iterator[None]:
    """Meanwhile keep them. say: as for `LoggedFaults`."""
    ours, handler = logging.getLogger("hostctl"), LoggedFaults(say)
    ours.addHandler(handler)
    try:
        yield
    finally:
        ours.removeHandler(handler)


def _written(text: str) -> Path | None:
    """Where it was written; None where that can't be."""
    for folder in (_beside_the_database, tempfile.gettempdir):
        try:
            path = Path(folder()) / "hostctl-faults.log"
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("a", encoding="utf-8") as log:
                log.write(text)
        except (OSError, RuntimeError):  # of a user without a home
            continue
        return path
    return None


def _beside_the_database() -> str:
    return str(database_path().parent)
