"""`hostctl status`: how the daemon's machines stand."""

import json
import os
import sys
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress

from hostctl.channels.view.data import from_data
from hostctl.channels.view.view import StationView
from hostctl.cli.daemon_options import add_socket
from hostctl.cli.status_lines import COLOURED, PLAIN, Tones, lines_of, screen
from hostctl.daemon.socket.client import answers, ask, connected
from hostctl.errors import DaemonError
from hostctl.report.document.plain_ascii import asked_for

EXAMPLE = "hostctl status --watch"
LOOKS_APART_S = 1.0
GONE = "The daemon has stopped. Waiting for it to come back; Ctrl-C leaves."


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--watch", action="store_true", help="stay, and show each change")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")
    add_socket(parser)


def act(args: Namespace) -> int:
    """Print it. Raises DaemonError when no daemon is there."""
    if not args.watch:
        _print(ask(args.socket, {"ask": "status"}), as_json=args.json)
        return 0
    with suppress(KeyboardInterrupt):  # the way to leave it
        _watch(args)
    return 0


def _print(status: dict[str, object], *, as_json: bool) -> None:
    if as_json:
        print(json.dumps(status["machines"], ensure_ascii=False), flush=True)
        return
    views = _views(status)
    several = len(views) > 1
    told = [lines_of(view, width=78, tones=_tones(), several=several) for view in views]
    print("\n\n".join("\n".join(lines) for lines in told), flush=True)


def _views(status: dict[str, object]) -> list[StationView]:
    """How each machine stands. Raises DaemonError where the daemon says it in another way."""
    machines = status["machines"]
    assert isinstance(machines, list)
    try:
        return [from_data(StationView, machine) for machine in machines]
    except ValueError as cause:
        raise DaemonError(
            "the daemon", "it is of another version than this command", "Start it again."
        ) from cause


def _watch(args: Namespace) -> None:
    """Until interrupted. A daemon that goes is waited for; one that never was is an error.

    So is one of another version.
    """
    _views(ask(args.socket, {"ask": "status"}))
    in_place = sys.stdout.isatty() and not args.json
    with _own_screen(in_place):
        while True:
            if _follow(args, in_place=in_place):
                _tell_gone(args, in_place=in_place)
            time.sleep(LOOKS_APART_S)


def _follow(args: Namespace, *, in_place: bool) -> bool:
    """Show each change until the daemon goes; whether there was anything to show."""
    shown = False
    with suppress(DaemonError), connected(args.socket) as connection:
        for status in answers(connection, {"ask": "watch"}):
            shown = True
            connection.settimeout(None)  # from now on silence only says that nothing changes
            _show(status, args, in_place=in_place)
    return shown


def _show(status: dict[str, object], args: Namespace, *, in_place: bool) -> None:
    if not in_place:
        _print(status, as_json=args.json)
        return
    size = os.get_terminal_size()
    blocks = not asked_for(os.environ)
    _draw(
        screen(_views(status), columns=size.columns, rows=size.lines, tones=_tones(), blocks=blocks)
    )


def _tell_gone(args: Namespace, *, in_place: bool) -> None:
    if in_place:
        _draw(["", f"  {GONE}"])
    elif not args.json:
        print(GONE, flush=True)


def _draw(lines: Sequence[str]) -> None:
    sys.stdout.write("\x1b[H" + "\x1b[K\r\n".join(lines) + "\x1b[K\x1b[J")
    sys.stdout.flush()


def _tones() -> Tones:
    plain = os.environ.get("NO_COLOR") or not sys.stdout.isatty()
    return PLAIN if plain else COLOURED


@contextmanager
def _own_screen(wanted: bool) -> Iterator[None]:
    """The terminal as it was comes back at the end."""
    if wanted:
        sys.stdout.write("\x1b[?1049h\x1b[?25l")
    try:
        yield
    finally:
        if wanted:
            sys.stdout.write("\x1b[?25h\x1b[?1049l")
            sys.stdout.flush()
