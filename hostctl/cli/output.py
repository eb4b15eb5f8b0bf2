"""A new file written, or standard output: nothing that is there is ever overwritten."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TextIO, cast

from hostctl.errors import HostctlError


@contextmanager
def output(name: str | None) -> Iterator[TextIO]:
    """Where to write text; None: standard output. Raises as `new_file`."""
    if name is None:
        yield sys.stdout
        return
    with new_file(Path(name)) as out:
        yield cast(TextIO, out)


@contextmanager
def new_file(path: Path, *, binary: bool = False) -> Iterator[IO[str] | IO[bytes]]:
    """A file to write to. What breaks off leaves no half a file behind.

    Raises HostctlError where something of that name is there already, or it can't be written.
    """
    try:
        is_new = not path.exists()
        if path.is_file():
            raise HostctlError(
                str(path), "is there already", "Name another file, or move it away first."
            )
        with _opened(path, "x" if is_new else "w", binary=binary) as out:
            try:
                yield out
                out.flush()  # what the disk has no room for shows here
            except BaseException:
                if is_new:  # half a file would be in the way, and taken for a whole one
                    path.unlink()
                raise
    except OSError as cause:
        reason = (cause.strerror or str(cause)).lower()
        what = f"can't be written ({reason})"
        raise HostctlError(str(path), what, "Name another file.") from cause


def _opened(path: Path, mode: str, *, binary: bool) -> IO[str] | IO[bytes]:
    if binary:
        return cast(IO[bytes], path.open(f"{mode}b"))
    return path.open(mode, encoding="utf-8", newline="")
