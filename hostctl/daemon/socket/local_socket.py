"""The local socket: one JSON object a line in, one a line out, for those its permissions let in.

Whoever comes this way may sit anywhere (a remote login), so it counts as from afar: starting needs
arming, stopping does not.
"""

import asyncio
import json
import os
import socket
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from hostctl.channels.handles import are_short
from hostctl.channels.view.data import Json
from hostctl.daemon.restarting import in_words
from hostctl.errors import DaemonError

LONGEST_LINE = 16 * 1024
MOST_CLIENTS = 32
SILENT_S = 60.0
AGAIN_S = 0.1
FRESH_S = 1.0  # so long who has come is not let go for want of handles: it waits for its answer
SHORT = "file handles are short"
MODE = 0o660


class Answers(Protocol):
    """What gives the answers; `hostctl.daemon.socket.asked.Asked` does."""

    def answers(self, line: bytes) -> AsyncIterator[Json]: ...


@dataclass(frozen=True, slots=True)
class _Client:
    talking: asyncio.Task[None]
    since_s: float  # the event loop's time


class LocalSocket:
    """Serves what `listening_at` gave."""

    def __init__(
        self, listener: socket.socket, answering: Answers, said: Callable[[str], None]
    ) -> None:
        """said: told of a client that was turned away, in words."""
        self._listener = listener
        self._answering = answering
        self._said = said
        self._clients: dict[socket.socket, _Client] = {}  # the oldest first

    async def serve(self) -> None:
        """Until cancelled."""
        loop = asyncio.get_running_loop()
        async with asyncio.TaskGroup() as tasks:
            while True:
                try:
                    connection, _ = await loop.sock_accept(self._listener)
                except OSError:  # no file handle is free
                    self._let_oldest_go(SHORT, unless_fresh=True)
                    await asyncio.sleep(AGAIN_S)
                    continue
                is_room = self._make_room()
                talking = tasks.create_task(self._talk(connection), name="local socket: client")
                self._clients[connection] = _Client(talking, loop.time())
                # who was let go frees its handle, who is fresh gets its answer, before the next one
                await asyncio.sleep(0 if is_room else AGAIN_S)

    def _make_room(self) -> bool:
        """The oldest client goes, so that a crowd keeps nobody from stopping a machine.

        Gives whether there is room now: where handles are short, nobody who is fresh goes.
        """
        if len(self._clients) >= MOST_CLIENTS:
            return self._let_oldest_go(f"{MOST_CLIENTS} clients are connected")
        return not are_short() or self._let_oldest_go(SHORT, unless_fresh=True)

    def _let_oldest_go(self, why: str, *, unless_fresh: bool = False) -> bool:
        """Gives whether one went."""
        connection, oldest = next(iter(self._clients.items()), (None, None))
        if connection is None or oldest is None:
            return False
        if unless_fresh and asyncio.get_running_loop().time() - oldest.since_s < FRESH_S:
            return False
        del self._clients[connection]
        oldest.talking.cancel()
        self._said(f"{why}; the oldest client was let go")
        return True

    async def _talk(self, connection: socket.socket) -> None:
        reader, writer = await asyncio.open_unix_connection(sock=connection, limit=LONGEST_LINE)
        try:
            while line := await _line(reader):
                async for answer in self._answers(line):
                    writer.write(json.dumps(answer).encode() + b"\n")
                    await writer.drain()
        except (OSError, TimeoutError):
            pass  # the client went, or says nothing
        except ValueError:
            self._said("a request was too long")
        finally:
            self._clients.pop(connection, None)
            writer.close()

    async def _answers(self, line: bytes) -> AsyncIterator[Json]:
        try:
            async for answer in self._answering.answers(line):
                yield answer
        except Exception as failure:  # one of the five places where all is caught
            yield {"ok": False, "reason": in_words(failure)}


async def _line(reader: asyncio.StreamReader) -> bytes:
    """The next request; empty at the end. Raises ValueError when it is too long."""
    async with asyncio.timeout(SILENT_S):
        return await reader.readline()


@contextmanager
def listening_at(path: Path) -> Iterator[socket.socket]:
    """A listening socket at `path`, for its owner and group; removed at the end.

    Raises DaemonError when somebody listens there already, or it can't be made.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o750)
        _remove_if_dead(path)
        listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM | socket.SOCK_NONBLOCK)
    except OSError as cause:
        raise _unusable(path, cause) from cause
    with listener:
        try:
            before = os.umask(0o777 & ~MODE)
            try:
                listener.bind(str(path))
            finally:
                os.umask(before)
            listener.listen()
        except OSError as cause:
            raise _unusable(path, cause) from cause
        try:
            yield listener
        finally:
            with suppress(OSError):
                path.unlink()


def _remove_if_dead(path: Path) -> None:
    """A socket left behind by a daemon that was killed is in the way, and nobody answers."""
    if not path.is_socket():
        return
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as probe:
        try:
            probe.connect(str(path))
        except ConnectionRefusedError:
            path.unlink()
            return
    raise DaemonError(str(path), "a daemon listens here already", "Stop that one first.")


def _unusable(path: Path, cause: OSError) -> DaemonError:
    why = (cause.strerror or str(cause)).lower()
    return DaemonError(
        str(path), f"the local socket can't be made ({why})", "Name another with 'socket:'."
    )
