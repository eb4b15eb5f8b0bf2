"""A disk that fails, or on which all ends as in a kill, at one of its doings after the other."""

import errno
import os
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest

DOINGS = (
    (os, "open"),
    (os, "write"),
    (os, "fsync"),
    (Path, "replace"),
    (Path, "hardlink_to"),
    (Path, "unlink"),
)
BYTES_AT_ONCE = 100


class Killed(BaseException):
    """As if the program had been killed: nothing more is done after it."""


class FailingDisk:
    """Lists what is done; `fails` says what comes of the next one."""

    def __init__(self, patch: pytest.MonkeyPatch, fails: Callable[[int], BaseException | None]):
        self.done: list[str] = []
        for where, name in DOINGS:
            patch.setattr(where, name, self._counted(getattr(where, name), fails))

    def _counted(
        self, real: Callable[..., Any], fails: Callable[[int], BaseException | None]
    ) -> Callable[..., Any]:
        def counted(*args: Any, **named: Any) -> Any:
            self.done.append(real.__name__)
            trouble = fails(len(self.done))
            if trouble is not None:
                raise trouble
            if real.__name__ == "write":
                return real(args[0], args[1][:BYTES_AT_ONCE])
            return real(*args, **named)

        return counted


def killed_at(patch: pytest.MonkeyPatch, last: int) -> FailingDisk:
    """Nothing from that doing on, not even tidying up."""
    return FailingDisk(patch, lambda doing: Killed() if doing >= last else None)


def full_at(patch: pytest.MonkeyPatch, only: int) -> FailingDisk:
    """That doing alone fails."""
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    return FailingDisk(patch, lambda doing: full if doing == only else None)


def in_order(act: Callable[[], object]) -> list[str]:
    """What is done with the disk; writes in a row are one."""
    with pytest.MonkeyPatch.context() as patch:
        disk = FailingDisk(patch, lambda doing: None)
        act()
    return [name for name, _ in groupby(disk.done)]


def at_every_doing(act: Callable[[], object], disk: Any, at_once: int = 40) -> Iterator[bool]:
    """Acts with the disk failing at its first doing, its second, …, until it does not get so far.

    Gives each time whether `act` came to its end; looked at with the disk whole again.
    """
    for failing in range(1, at_once):
        with pytest.MonkeyPatch.context() as patch:
            found = disk(patch, failing)
            came_to_its_end = True
            try:
                act()
            except (Killed, Exception):
                came_to_its_end = False
        yield came_to_its_end
        if len(found.done) < failing:
            return
    raise AssertionError("it never comes to an end")
