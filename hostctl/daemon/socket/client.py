"""Speaking to the running daemon over its local socket."""

import json
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from hostctl.daemon.socket.socket_path import places_to_ask
from hostctl.errors import DaemonError

Json = dict[str, object]
ANSWERS_WITHIN_S = 10.0
NO_DAEMON = "Start it: hostctl serve --config DIR, or name its socket with --socket."


def ask(named: str | None, request: Json) -> Json:
    """Ask one thing of the daemon at the socket `named`; None: where one usually is.

    Raises DaemonError when the daemon is not there or refuses.
    """
    with connected(named) as connection:
        answer = next(answers(connection, request), None)
    if answer is None:
        raise DaemonError("the daemon", "it hung up", "Look at its log: journalctl -u hostctl")
    if not answer.get("ok"):
        where, next_step = answer.get("where"), answer.get("next_step")
        raise DaemonError(
            str(where or "the daemon refused"),
            str(answer.get("reason")),
            str(next_step or "Look at its log: journalctl -u hostctl"),
        )
    return answer


@contextmanager
def connected(named: str | None) -> Iterator[socket.socket]:
    """A connection to the daemon, as for `ask`. Raises DaemonError."""
    places = [Path(named)] if named else places_to_ask(os.environ)
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as connection:
        connection.settimeout(ANSWERS_WITHIN_S)
        _connect(connection, places)
        try:
            yield connection
        except TimeoutError as cause:
            raise DaemonError("the daemon", "it does not answer", "Look at its log.") from cause
        except OSError as cause:
            raise DaemonError("the daemon", "it hung up", "Look at its log.") from cause


def answers(connection: socket.socket, request: Json) -> Iterator[Json]:
    """Each answer to the request, as it comes."""
    connection.sendall(json.dumps(request).encode() + b"\n")
    with connection.makefile("rb") as lines:
        for line in lines:
            yield json.loads(line)


def _connect(connection: socket.socket, places: list[Path]) -> None:
    for place in places:
        try:
            connection.connect(str(place))
        except (FileNotFoundError, ConnectionRefusedError, NotADirectoryError):
            continue
        except PermissionError as cause:
            hint = "Join the group it belongs to (sudo usermod -aG hostctl $USER), log in again."
            raise DaemonError(str(place), "no permission to speak to the daemon", hint) from cause
        except OSError as cause:
            what = f"the socket can't be used ({cause.strerror or cause})"
            raise DaemonError(str(place), what, NO_DAEMON) from cause
        return
    raise DaemonError(str(places[0]), "no daemon listens here", NO_DAEMON)


def answers_at(place: Path) -> str | None:
    """None when a daemon answers at this socket; else why not, in words."""
    try:
        ask(str(place), {"ask": "status"})
    except DaemonError as error:
        return str(error)
    return None
