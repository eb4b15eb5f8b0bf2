"""`hostctl answer`: what the daemon hears, whichever way a number below zero is typed."""

import json
import socket
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from hostctl.cli.main import main


class Daemon:
    """Takes one request at its socket, and says yes."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.heard: dict[str, object] = {}
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.bind(str(path))
        self._socket.listen()
        self._thread = threading.Thread(target=self._take_one)
        self._thread.start()

    def _take_one(self) -> None:
        connection, _ = self._socket.accept()
        with connection, connection.makefile("rb") as lines:
            line = lines.readline()
            if line:
                self.heard = json.loads(line)
                connection.sendall(b'{"ok": true}\n')

    def close(self) -> None:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as nobody:
            nobody.connect(str(self.path))  # in case nobody else came
        self._thread.join()
        self._socket.close()


@pytest.fixture
def daemon() -> Iterator[Daemon]:
    with tempfile.TemporaryDirectory(prefix="hostctl-") as folder:  # its path must be short
        one = Daemon(Path(folder) / "socket")
        yield one
        one.close()


@pytest.mark.parametrize(
    ("typed", "heard"),
    [
        ("0.02", "0.02"),
        ("0,02", "0,02"),
        ("+0,02", "+0,02"),
        ("-0.02", "-0.02"),
        ("-0,02", "-0.02"),
        ("-.02", "-0.02"),
        ("-,02", "-0.02"),
        ("-2", "-2"),
        ("-2.", "-2.0"),
        ("-0.02mm", "−0.02mm"),
        ("-0,02mm", "−0,02mm"),
        ("-.02 mm", "−.02 mm"),
        ("−0.02", "−0.02"),
        ("–0,02", "–0,02"),
        ("done", "done"),
    ],
)
def test_a_number_below_zero_is_no_option(daemon: Daemon, typed: str, heard: str):
    assert main(["answer", typed, "--socket", str(daemon.path)]) == 0
    assert daemon.heard["text"] == heard


def test_a_number_may_come_after_the_options(daemon: Daemon):
    assert main(["answer", "--prompt", "4-2", "--socket", str(daemon.path), "-0,02"]) == 0
    assert (daemon.heard["text"], daemon.heard["prompt_id"]) == ("-0.02", "4-2")


@pytest.mark.parametrize("typed", ["-", "--0,02", "-.", "-x", "-1,000.5"])
def test_what_is_no_number_is_told_in_one_line(typed: str, capsys: pytest.CaptureFixture[str]):
    assert main(["answer", typed, "--socket", "/nowhere"]) != 0
    assert capsys.readouterr().err.count("\n") == 1
