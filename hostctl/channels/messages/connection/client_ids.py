"""The ids by which a broker knows our connections: secret, and the same after a restart.

A broker ends the session of whoever used an id before, so an id that others know is a way to put
us out. The same after a restart, so that it ends our own half-dead session, and tells its will,
before it takes the new one.
"""

import base64
import hashlib
import secrets
from collections.abc import Callable
from pathlib import Path

from hostctl.channels.secret_file import read_secret
from hostctl.errors import ConfigError

FILE_NAME = "broker-ids"
BEGINS = "hostctl"
LENGTH = 23  # letters and digits that each broker must take: MQTT 3.1.1, 3.1.3.1, [MQTT-3.1.3-5]


class ClientIds:
    """Made from one secret."""

    def __init__(self, keep_in: Path | None, say: Callable[[str], None]) -> None:
        """`keep_in`: a file, made with mode 600; None: the secret is forgotten with the process.

        `say` is told when it can't be kept.
        """
        self._file = keep_in
        self._say = say
        self._secret = self._kept() or self._fresh()

    def of(self, connection: str) -> str:
        """The id of the connection so called."""
        made = hashlib.blake2b(connection.encode(), key=self._secret).digest()
        return (BEGINS + base64.b32encode(made).decode().lower())[:LENGTH]

    def renew(self) -> None:
        """Other ids from now on: somebody seems to know these."""
        self._secret = self._fresh()

    def _kept(self) -> bytes:
        """Empty when there is none that is secret."""
        if self._file is None:
            return b""
        try:
            return bytes.fromhex(read_secret(self._file, "the ids of our connections"))
        except (ConfigError, ValueError):
            return b""

    def _fresh(self) -> bytes:
        fresh = secrets.token_bytes(32)
        if self._file is not None:
            try:
                _write(self._file, fresh.hex() + "\n")
            except OSError as cause:
                why = cause.strerror or str(cause)
                self._say(f"{self._file} can't be written ({why}); see that its folder is ours")
        return fresh


def _write(path: Path, text: str) -> None:
    new = path.with_suffix(".new")
    new.unlink(missing_ok=True)
    new.touch(mode=0o600, exist_ok=False)
    new.write_text(text)
    new.replace(path)
