"""A real mosquitto for a test: on a free port, on loopback, ended with the test."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from kept_port import kept_port

MOSQUITTO = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")


def needs_mosquitto() -> str:
    """Where mosquitto is. Absent, the test is skipped, or fails where real parts are required."""
    if MOSQUITTO is not None:
        return MOSQUITTO
    if os.environ.get("HOSTCTL_REQUIRE_REAL_PARTS") == "1":
        pytest.fail("mosquitto is not installed, but HOSTCTL_REQUIRE_REAL_PARTS=1")
    pytest.skip("mosquitto is not installed")


class RealBroker:
    """One mosquitto, which can be killed and started again on the same port."""

    def __init__(self, folder: Path, settings: str = "allow_anonymous true") -> None:
        self.port = kept_port()
        self._program = needs_mosquitto()
        self._log = folder / "mosquitto.log"
        self._conf = folder / "mosquitto.conf"
        user = "user root\n" if os.geteuid() == 0 else ""
        self._conf.write_text(
            f"{user}persistence false\nset_tcp_nodelay true\n"
            f"{settings.replace('PORT', str(self.port))}\n"
            + ("" if "listener" in settings else f"listener {self.port} 127.0.0.1\n")
        )
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                [self._program, "-c", str(self._conf)], stdout=log, stderr=log
            )
        while not self._listens():
            if self._process.poll() is not None:
                pytest.fail(f"mosquitto ended:\n{self._log.read_text()}")
            time.sleep(0.005)

    def kill(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def freeze(self, signal_number: int) -> None:
        assert self._process is not None
        self._process.send_signal(signal_number)

    def rss_kib(self) -> int:
        assert self._process is not None
        status = Path(f"/proc/{self._process.pid}/status").read_text()
        return int(status.split("VmRSS:")[1].split()[0])

    def _listens(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
        except OSError:
            return False
        return True


@contextmanager
def real_broker(folder: Path, settings: str = "allow_anonymous true") -> Iterator[RealBroker]:
    broker = RealBroker(folder, settings)
    broker.start()
    try:
        yield broker
    finally:
        broker.kill()
