"""Which browsers may use the page: a random cookie each, kept as a hash, for some days.

Sessions outlive the daemon where a file is given, so that a restart in the middle of a study
does not shut out a phone that is at the machine.
"""

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

LASTS_DAYS = 14
MOST = 64


class Sessions:
    """The browsers known now."""

    def __init__(self, now: Callable[[], datetime], keep_in: Path | None = None) -> None:
        """`keep_in`: a file of hashes, made with mode 600; None: forgotten with the process."""
        self._now = now
        self._file = keep_in
        self._until: dict[str, datetime] = self._read()

    def begin(self) -> str:
        """A new session's cookie; the oldest session goes when there are too many.

        Raises OSError when it can't be written down.
        """
        cookie = secrets.token_urlsafe(24)
        while len(self._until) >= MOST:
            del self._until[next(iter(self._until))]
        self._until[_hash(cookie)] = self._now() + timedelta(days=LASTS_DAYS)
        self._write()
        return cookie

    def knows(self, cookie: str) -> bool:
        """Whether this cookie is that of a session that has not run out."""
        until = self._until.get(_hash(cookie))
        return until is not None and self._now() < until

    def forget_all(self) -> None:
        """Shut every browser out, for good. Raises OSError when it can't be written down."""
        self._until.clear()
        self._write()
        if self._file is not None:  # else a power cut could let them in again
            _sync(self._file)
            _sync(self._file.parent)

    def _read(self) -> dict[str, datetime]:
        """What the file holds; a file that can't be understood holds nothing."""
        if self._file is None:
            return {}
        try:
            held = json.loads(self._file.read_text())
            known = {str(name): datetime.fromisoformat(until) for name, until in held.items()}
        except (OSError, ValueError, AttributeError, TypeError):
            return {}
        return {name: until for name, until in known.items() if until.tzinfo is not None}

    def _write(self) -> None:
        if self._file is None:
            return
        fresh = self._file.with_suffix(".new")
        held = {name: until.astimezone(UTC).isoformat() for name, until in self._until.items()}
        fresh.touch(mode=0o600)
        fresh.write_text(json.dumps(held))
        fresh.replace(self._file)


def _sync(path: Path) -> None:
    """The file, or a folder's list of its files, is on the disk when it returns."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def token_of(cookie: str) -> str:
    """What a page of this session sends in a header, to show that it could read our answer."""
    return hashlib.sha256(b"hostctl page token " + cookie.encode()).hexdigest()[:32]


def is_token(sent: str, cookie: str) -> bool:
    """Whether `sent` is this session's token."""
    return sent.isascii() and hmac.compare_digest(sent, token_of(cookie))


def _hash(cookie: str) -> str:
    return hashlib.sha256(cookie.encode(errors="replace")).hexdigest()
