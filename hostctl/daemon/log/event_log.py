"""The log: one line an event, `event=… key=value …`, on standard error, for journalctl to read.

Under systemd each line bears its priority (sd-daemon(3)) and no time, which the journal adds.
Writing never blocks the event loop: a line that can't be written now is dropped and counted.
"""

import logging
import os
from collections.abc import Callable
from datetime import datetime
from enum import IntEnum
from select import PIPE_BUF, select

LONGEST_VALUE = 400
_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.:/+@,?&%")


class Level(IntEnum):
    """How grave it is, as syslog counts (RFC 5424, 6.2.1)."""

    FAULT = 3
    WARNING = 4
    INFO = 6


class EventLog:
    """Writes events to a file descriptor."""

    def __init__(self, fd: int, now: Callable[[], datetime], *, journal: bool) -> None:
        """`journal`: whether the other end is systemd's journal."""
        self._fd = fd
        self._now = now
        self._journal = journal
        self._dropped = 0

    def say(self, event: str, level: Level = Level.INFO, **pairs: object) -> None:
        """Log one event. Values that are None or empty are left out."""
        if self._dropped and self._write(Level.WARNING, {"event": "log", "dropped": self._dropped}):
            self._dropped = 0
        if not self._write(level, {"event": event, **pairs}):
            self._dropped += 1

    def _write(self, level: Level, pairs: dict[str, object]) -> bool:
        head = f"<{level.value}>" if self._journal else ""
        if not self._journal:
            pairs = {
                "time": f"{self._now():%Y-%m-%dT%H:%M:%SZ}",
                "level": level.name.lower(),
            } | pairs
        line = head + line_of(pairs)
        try:
            if not select([], [self._fd], [], 0)[1]:
                return False
            os.write(self._fd, line.encode("utf-8", "replace")[: PIPE_BUF - 1] + b"\n")
        except OSError:  # nobody reads the log any more: that must not stop a machine
            return False
        return True


def line_of(pairs: dict[str, object]) -> str:
    """`a=1 b="two words"`: one line whatever is in the values."""
    shown = ((key, value) for key, value in pairs.items() if value is not None and value != "")
    return " ".join(f"{key}={_quoted(value)}" for key, value in shown)


def _quoted(value: object) -> str:
    text = str(value)
    if len(text) > LONGEST_VALUE:
        text = f"{text[:LONGEST_VALUE]}…"
    if text and _PLAIN.issuperset(text):
        return text
    safe = "".join(sign if sign.isprintable() else " " for sign in text)
    return '"' + safe.replace("\\", "\\\\").replace('"', '\\"') + '"'


class LibraryWarnings(logging.Handler):
    """Warnings of the libraries we use, into our log."""

    def __init__(self, log: EventLog) -> None:
        super().__init__(logging.WARNING)
        self._log = log

    def emit(self, record: logging.LogRecord) -> None:
        """Log one. Its traceback, if any, is left out. Ours go to the fault log instead."""
        if record.name.startswith("hostctl."):
            return
        level = Level.FAULT if record.levelno >= logging.ERROR else Level.WARNING
        self._log.say("library", level, name=record.name, text=record.getMessage())
