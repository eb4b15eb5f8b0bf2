"""What fails in the daemon is begun again, ever more patiently, and said once."""

import asyncio
import itertools
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from jumping_loop import JumpingLoop

from hostctl.daemon.log.event_log import EventLog
from hostctl.daemon.restarting import AGAIN_S, LONGEST_AGAIN_S, kept_going
from hostctl.errors import PortError
from hostctl.store.store import utc_now

AWAY = PortError("/dev/x", "there is no such port", "Plug it in.")


@pytest.fixture
def log() -> Iterator[tuple[EventLog, int]]:
    reading, writing = os.pipe()
    yield EventLog(writing, utc_now, journal=True), reading
    os.close(reading)
    os.close(writing)


def served(log: EventLog, failures: list[Exception], told: list[str]) -> list[float]:
    """When it was begun, until it served without failing."""
    begun_s: list[float] = []

    async def serve() -> None:
        begun_s.append(asyncio.get_running_loop().time())
        if failures:
            raise failures.pop(0)

    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        runner.run(kept_going("it", serve, log, told.append))
    return begun_s


def test_the_same_trouble_is_said_once_and_waited_for_longer(log: tuple[EventLog, int]):
    told: list[str] = []
    begun_s = served(log[0], [AWAY] * 6, told)
    waits_s = [later - earlier for earlier, later in itertools.pairwise(begun_s)]
    assert waits_s == [AGAIN_S, 10, 20, 40, LONGEST_AGAIN_S, LONGEST_AGAIN_S]
    assert told == [str(AWAY)] * 6
    assert os.read(log[1], 4096).decode().count("event=failed what=it") == 1


def test_other_trouble_is_said_too(log: tuple[EventLog, int]):
    other = PortError("/dev/x", "no permission to open it", "Join the group.")
    assert len(served(log[0], [AWAY, other, AWAY], [])) == 4
    assert os.read(log[1], 4096).decode().count("event=failed") == 3


def test_a_bug_is_kept_in_the_fault_log_and_nobody_else_falls(
    log: tuple[EventLog, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "kept.sqlite"))
    bug = ExceptionGroup("tasks", [ZeroDivisionError("of ours")])
    assert len(served(log[0], [bug], [])) == 2
    assert "ZeroDivisionError: of ours" in (tmp_path / "hostctl-faults.log").read_text()
    line = os.read(log[1], 4096).decode()
    assert "a fault of its own (ZeroDivisionError)" in line
    assert "Traceback" not in line


def test_being_told_to_stop_passes(log: tuple[EventLog, int]):
    async def stopped() -> None:
        async with asyncio.timeout(1):
            await kept_going("it", asyncio.Event().wait, log[0])

    with asyncio.Runner(loop_factory=JumpingLoop) as runner, pytest.raises(TimeoutError):
        runner.run(stopped())
