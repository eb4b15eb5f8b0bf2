"""Whether the files that are written are still those at their path.

A file that was removed, moved or replaced while it is open can be written as before, and all of it
is lost. So the database and the two files that go with it are looked at around each commit.
"""

from pathlib import Path

from hostctl.store.file.failure import replaced, vanished

Identity = tuple[int, int]  # device, inode


class SameFiles:
    """The files of one database, as they were when it was opened."""

    def __init__(self, database: Path) -> None:
        log, index = (database.with_name(f"{database.name}-{end}") for end in ("wal", "shm"))
        self._known: dict[Path, Identity | None] = {
            path: _identity(path) for path in (database, log, index)
        }

    def check(self) -> None:
        """Raises StoreError when one of them was moved, removed or replaced."""
        for path, known in self._known.items():
            found = _identity(path)
            if known is None:  # it was not made yet
                self._known[path] = found
            elif found is None:
                raise vanished(path)
            elif found != known:
                raise replaced(path)


def _identity(path: Path) -> Identity | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
