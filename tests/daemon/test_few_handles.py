"""File handles run short: the doors give way, and the machine goes on as if nothing were."""

import os
import resource
import select
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from daemon_process import PATIENCE_S, Daemon
from kept_port import kept_port

from hostctl.channels.handles import KEPT_FREE, WANTED
from hostctl.daemon.log.fault_log import keep_fault, spare_a_handle

FEW = 40
CROWD = 120


@pytest.fixture
def port(daemon: Daemon) -> int:
    port = kept_port()
    daemon.write_host("bench", page=f"{{listen: 0.0.0.0, port: {port}}}")
    return port


@pytest.fixture
def crowd() -> Iterator[ExitStack]:
    with ExitStack() as connected:
        yield connected


def in_use(daemon: Daemon) -> int:
    assert daemon.process is not None
    return len(list(Path(f"/proc/{daemon.process.pid}/fd").iterdir()))


def open_without_end(crowd: ExitStack) -> None:
    while True:
        crowd.callback(os.close, os.open(os.devnull, os.O_RDONLY))


def until_few_stay(strangers: list[socket.socket], most: int) -> None:
    """All have been taken in by then, and most of them hung up on: nothing changes any more.

    How many handles are in use says it at no moment: a few more are for a turn of the loop.
    """
    patience = time.monotonic() + PATIENCE_S
    stay = strangers
    while len(stay) > most:
        assert time.monotonic() < patience, f"{len(stay)} strangers stay"
        ended, _, _ = select.select(stay, [], [], 1.0)
        stay = [one for one in stay if one not in ended]  # who says nothing hears only the end


@pytest.mark.slow
def test_idle_strangers_take_no_handle_that_a_run_needs(
    daemon: Daemon, port: int, crowd: ExitStack
):
    daemon.handles = (FEW, FEW)
    daemon.start()
    daemon.start_run("bench", study="small")
    daemon.answer_all("bench", 1)
    address = ("127.0.0.1", port)
    before = in_use(daemon)
    strangers = [
        crowd.enter_context(socket.create_connection(address, PATIENCE_S)) for _ in range(CROWD)
    ]
    until_few_stay(strangers, FEW - KEPT_FREE)
    assert in_use(daemon) > before  # some stay: what they take is what the run must not need
    daemon.answer_all("bench", 2)
    daemon.until("bench", lambda found: found["run"] is None)
    assert in_use(daemon) <= FEW - KEPT_FREE + 1
    assert "level=fault" not in daemon.log
    assert "event=few-handles limit=40" in daemon.log
    assert daemon.end() == 0


@pytest.mark.slow
def test_a_crowd_at_the_local_socket_takes_none_either(daemon: Daemon, crowd: ExitStack):
    daemon.handles = (FEW, FEW)
    daemon.start()
    daemon.start_run("bench", study="small")
    for _ in range(CROWD):
        client = crowd.enter_context(socket.socket(socket.AF_UNIX))
        client.connect(str(daemon.socket))
    daemon.answer_all("bench", 3)
    assert "file handles are short; the oldest client was let go" in daemon.log
    assert "level=fault" not in daemon.log
    assert daemon.end() == 0


@pytest.mark.slow
def test_a_soft_limit_is_raised_where_the_hard_one_allows_it(daemon: Daemon):
    daemon.handles = (FEW, 300)
    daemon.start()
    assert daemon.process is not None
    soft, _ = resource.prlimit(daemon.process.pid, resource.RLIMIT_NOFILE)
    assert soft == 300 < WANTED
    assert "few-handles" not in daemon.log


def test_a_fault_is_kept_when_no_handle_is_free(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, crowd: ExitStack
):
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "kept.sqlite"))
    spare_a_handle()
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    highest = max(int(one.name) for one in Path("/proc/self/fd").iterdir())
    resource.setrlimit(resource.RLIMIT_NOFILE, (highest + 2, hard))
    try:
        with pytest.raises(OSError, match="Too many open files"):
            open_without_end(crowd)
        for _ in range(2):
            assert "Please report" in keep_fault(ValueError("one of ours"))
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    assert (tmp_path / "hostctl-faults.log").read_text().count("one of ours") == 2
