"""What is sent to the local socket: bounded, checked, and never more than an answer."""

import asyncio
import json
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from daemon_process import PATIENCE_S, Daemon
from jsonschema import Draft202012Validator

from hostctl.channels.view.data import Json
from hostctl.channels.view.schema import FILE
from hostctl.daemon.socket import local_socket
from hostctl.daemon.socket.local_socket import (
    LONGEST_LINE,
    MOST_CLIENTS,
    Answers,
    LocalSocket,
    listening_at,
)
from hostctl.daemon.socket.socket_path import place_to_listen, places_to_ask
from hostctl.errors import DaemonError


@pytest.mark.slow
def test_the_status_is_what_the_schema_of_a_view_says(daemon: Daemon):
    daemon.start()
    (machine,) = daemon.ask("status")["machines"]
    Draft202012Validator(json.loads(FILE.read_text())).validate(machine)


@pytest.mark.parametrize("line", [b"", b"[]", b"{", b"\xff\xfe", b"[" * 9000, b'"status"'])
@pytest.mark.slow
def test_what_is_no_request_is_refused_and_the_daemon_goes_on(daemon: Daemon, line: bytes):
    daemon.start()
    with socket.socket(socket.AF_UNIX) as client:
        client.connect(str(daemon.socket))
        client.sendall(line + b"\n")
        client.settimeout(PATIENCE_S)
        answer = json.loads(client.makefile().readline())
    assert answer == {"ok": False, "reason": "the request is not a JSON object"}
    assert daemon.ask("status")["ok"]


@pytest.mark.slow
def test_a_megabyte_is_turned_away(daemon: Daemon):
    daemon.start()
    with socket.socket(socket.AF_UNIX) as client:
        client.connect(str(daemon.socket))
        client.settimeout(PATIENCE_S)
        with pytest.raises(OSError, match=r"Broken pipe|reset"):
            client.sendall(b"x" * 100 * LONGEST_LINE)
    assert daemon.ask("status")["ok"]
    assert "a request was too long" in daemon.log


@pytest.mark.slow
def test_a_crowd_keeps_nobody_out(daemon: Daemon):
    daemon.start()
    crowd = [socket.socket(socket.AF_UNIX) for _ in range(MOST_CLIENTS)]
    for client in crowd:
        client.connect(str(daemon.socket))
        client.settimeout(PATIENCE_S)
    assert daemon.ask("status")["ok"]
    assert crowd[0].recv(1) == b""  # the oldest client was let go
    for client in crowd:
        client.close()
    assert "the oldest client was let go" in daemon.log


@asynccontextmanager
async def served(path: Path, answering: Answers) -> AsyncIterator[list[str]]:
    """A local socket of this process; gives what it says."""
    said: list[str] = []
    with listening_at(path) as listener:
        serving = asyncio.create_task(LocalSocket(listener, answering, said.append).serve())
        try:
            yield said
        finally:
            serving.cancel()


async def answer_at(path: Path) -> bytes:
    """What comes back to a request; empty: it was hung up on."""
    reader, writer = await asyncio.open_unix_connection(path)
    writer.write(b'{"ask": "stop"}\n')
    answer = await asyncio.wait_for(reader.readline(), PATIENCE_S)
    writer.close()
    return answer


class Answering:
    """Takes a few turns of the loop, as what has to be looked up does."""

    async def answers(self, line: bytes) -> AsyncIterator[Json]:
        for _ in range(5):
            await asyncio.sleep(0)
        yield {"ok": True}


class Failing:
    """Has a bug, or no file handle for what it wants to open."""

    def __init__(self, fault: Exception) -> None:
        self._fault = fault

    async def answers(self, line: bytes) -> AsyncIterator[Json]:
        if line:
            raise self._fault
        yield {}


async def test_who_comes_at_the_same_moment_is_answered_though_handles_are_short(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(local_socket, "are_short", lambda: True)
    async with served(tmp_path / "s", Answering()):
        came = await asyncio.gather(*(answer_at(tmp_path / "s") for _ in range(5)))
    assert came == [b'{"ok": true}\n'] * 5


async def test_who_sits_there_goes_once_handles_are_short(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    async with served(tmp_path / "s", Answering()) as said:
        sits, its = await asyncio.open_unix_connection(tmp_path / "s")
        monkeypatch.setattr(local_socket, "are_short", lambda: not said)
        monkeypatch.setattr(local_socket, "FRESH_S", 0.0)  # it has sat there for long
        assert await answer_at(tmp_path / "s") == b'{"ok": true}\n'
        assert await sits.read() == b""
        its.close()
    assert said == ["file handles are short; the oldest client was let go"]


@pytest.mark.parametrize("fault", [OSError("no file handle"), ValueError("x"), KeyError("x")])
async def test_a_request_that_fails_is_answered_so_and_the_others_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception
):
    monkeypatch.setenv("HOSTCTL_DATABASE", str(tmp_path / "kept.sqlite"))
    async with served(tmp_path / "s", Failing(fault)):
        other, its = await asyncio.open_unix_connection(tmp_path / "s")
        answer = json.loads(await answer_at(tmp_path / "s"))
        assert (answer["ok"], "a fault of its own" in answer["reason"]) == (False, True)
        assert not other.at_eof()
        assert await answer_at(tmp_path / "s")
        its.close()


def test_a_socket_left_behind_is_taken_over_and_a_live_one_is_not(tmp_path: Path):
    path = tmp_path / "s"
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(path))
    with listening_at(path), pytest.raises(DaemonError, match="a daemon listens here already"):
        listening_at(path).__enter__()
    assert not path.exists()


def test_a_folder_that_can_not_be_made_is_said(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with pytest.raises(DaemonError, match="the local socket can't be made"):
        listening_at(tmp_path / "file" / "s").__enter__()


@pytest.mark.parametrize(
    ("environment", "listens"),
    [
        ({"RUNTIME_DIRECTORY": "/run/hostctl"}, "/run/hostctl/control.sock"),
        ({"XDG_RUNTIME_DIR": "/run/user/7"}, "/run/user/7/hostctl/control.sock"),
        ({"XDG_STATE_HOME": "/s"}, "/s/hostctl/control.sock"),
        ({"HOSTCTL_SOCKET": "/x.sock", "RUNTIME_DIRECTORY": "/run/hostctl"}, "/x.sock"),
    ],
)
def test_commands_look_where_the_daemon_listens(environment: dict[str, str], listens: str):
    assert str(place_to_listen(environment)) == listens
    assert listens in [str(place) for place in places_to_ask(environment)]


def test_a_socket_named_by_the_environment_is_the_only_one_asked():
    assert places_to_ask({"HOSTCTL_SOCKET": "/x.sock", "XDG_STATE_HOME": "/s"}) == [Path("/x.sock")]
