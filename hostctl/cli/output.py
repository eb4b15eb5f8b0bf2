"""A new file written, or standard output: nothing that is there is ever overwritten."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from hostctl.errors import HostctlError


@contextmanager
def output(name: str | None) -> Iterator[TextIO]:
    """Where to write; None: standard output. What breaks off leaves no half a file behind.

    Raises HostctlError where something of that name is there already, or it can't be written.
    """
    if name is None:
        yield sys.stdout
        return
    path = Path(name)
    try:
        is_new = not path.exists()
        if path.is_file():
            raise HostctlError(
                name, "is there already", "Name another file, or move it away first."
            )
        with path.open("x" if is_new else "w", encoding="utf-8", newline="") as out:
            try:
                yield out
            except BaseException:
                if is_new:  # half a file would be in the way, and taken for a whole one
                    path.unlink()
                raise
    except OSError as cause:
        reason = (cause.strerror or str(cause)).lower()
        raise HostctlError(name, f"can't be written ({reason})", "Name another file.") from cause
