"""What the service manager is told, over both kinds of socket (sd_notify(3))."""

import asyncio
import os
import secrets
import socket
from pathlib import Path

import pytest
from jumping_loop import JumpingLoop

from hostctl.daemon.notify import Notify, keep_alive
from hostctl.errors import StoreError


@pytest.fixture(params=["path", "abstract"])
def manager(request, tmp_path: Path):
    name = (
        f"@hostctl-{secrets.token_hex(4)}" if request.param == "abstract" else str(tmp_path / "n")
    )
    door = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    door.bind("\0" + name[1:] if name.startswith("@") else name)
    door.setblocking(False)
    yield door, name
    door.close()


def heard(door: socket.socket) -> list[str]:
    found: list[str] = []
    while True:
        try:
            found.append(door.recv(4096).decode())
        except BlockingIOError:
            return found


def test_each_message_is_a_datagram(manager):
    door, name = manager
    notify = Notify({"NOTIFY_SOCKET": name})
    notify.ready()
    notify.status("bench: resting")
    notify.status("bench: resting")
    notify.stopping()
    assert heard(door) == ["READY=1", "STATUS=bench: resting", "STOPPING=1"]


def test_without_a_manager_nothing_is_said_and_nothing_fails():
    notify = Notify({})
    notify.ready()
    notify.alive()
    assert notify.alive_every_s is None


def test_a_manager_that_has_gone_is_no_error(tmp_path: Path):
    Notify({"NOTIFY_SOCKET": str(tmp_path / "gone")}).alive()


@pytest.mark.parametrize(
    ("known", "every_s"),
    [
        ({"WATCHDOG_USEC": "30000000"}, 15.0),
        ({"WATCHDOG_USEC": "30000000", "WATCHDOG_PID": str(os.getpid())}, 15.0),
        ({"WATCHDOG_USEC": "30000000", "WATCHDOG_PID": "1"}, None),  # meant for another process
        ({"WATCHDOG_USEC": "0"}, None),
        ({"WATCHDOG_USEC": "soon"}, None),
    ],
)
def test_it_is_alive_twice_in_the_time_it_is_given(known: dict[str, str], every_s: float | None):
    assert Notify(known).alive_every_s == every_s


def alive_in_five_minutes(door: socket.socket, name: str, answers) -> int:
    notify = Notify({"NOTIFY_SOCKET": name, "WATCHDOG_USEC": "120000000"})

    async def five_minutes() -> None:
        async with asyncio.timeout(301):
            await keep_alive(notify, answers)

    with asyncio.Runner(loop_factory=JumpingLoop) as runner, pytest.raises(TimeoutError):
        runner.run(five_minutes())
    return heard(door).count("WATCHDOG=1")


def test_it_is_alive_while_the_store_answers(manager):
    async def answers() -> None:
        return

    assert alive_in_five_minutes(*manager, answers) == 6


def test_it_is_not_alive_when_the_store_answers_no_more(manager):
    async def hangs() -> None:
        await asyncio.Event().wait()

    assert alive_in_five_minutes(*manager, hangs) == 0


def test_a_store_that_is_busy_a_while_is_looked_at_again(manager):
    tries = iter([StoreError("db", "busy", "Wait.")])

    async def busy_once() -> None:
        for error in tries:
            raise error

    assert alive_in_five_minutes(*manager, busy_once) == 5
