"""A simulated printer in a process of its own, which outlives the daemon."""

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
    command = [sys.executable, "-m", "simulators", "printer", machine]
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
