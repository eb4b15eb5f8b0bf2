"""A simulated printer in a process of its own, which outlives the daemon."""

import json
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def printer_at(
    folder: Path, machine: str = "workshop-220", *more: str
) -> Iterator[tuple[Path, Path]]:
    """Its pseudo-terminal, and the socket for hands. more: words of its command line."""
    port, hands = folder / "port", folder / "hands"
    command = [sys.executable, "-m", "hostctl_simulators", "printer", machine]
    with subprocess.Popen(
        [*command, "--pty", str(port), "--hands", str(hands), *more],
        stdout=subprocess.PIPE,
        text=True,
    ) as printer:
        assert printer.stdout is not None
        try:
            assert printer.stdout.readline().strip() == str(port)
            yield port, hands
        finally:
            printer.terminate()
            printer.communicate()


def at_screen(hands: Path, deed: str, *given: object) -> object:
    """Do something at the printer's own screen, over its socket for hands."""
    with socket.socket(socket.AF_UNIX) as way:
        way.connect(str(hands))
        lines = way.makefile("rw", encoding="utf-8")
        lines.write(json.dumps({"do": deed, "with": given}) + "\n")
        lines.flush()
        answer = json.loads(lines.readline())
    assert "error" not in answer, answer
    return answer["gives"]
