"""A console on a simulated printer's cable, in simulated time: bytes in, lines out."""

from collections.abc import Callable
from functools import reduce
from operator import xor

import pytest
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter


def framed(number: int, command: str) -> bytes:
    body = f"N{number} {command}".encode()
    return body + b"*%d\n" % reduce(xor, body, 0)


class Console:
    """Types commands, numbered and summed as the protocol asks, and keeps what comes back."""

    def __init__(self, url: str) -> None:
        self.printer = SimulatedPrinter(Description.parse(url))
        self.lost: list[str] = []
        self.number = 0
        self._heard = bytearray()
        self.plug_in()
        self.banner = self.heard()
        self.do("M110 N0")

    def plug_in(self, *, reset: bool = True) -> None:
        self.printer.connect(self._heard.extend, self.lost.append, reset=reset)
        self.printer.agenda.run_all()

    def heard(self) -> list[str]:
        lines = self._heard.decode("ascii", "replace").splitlines()
        self._heard.clear()
        return lines

    def send(self, command: str) -> None:
        """The next command; no time passes."""
        self.printer.write(framed(self.number, command))
        self.number += 1

    def do(self, command: str) -> list[str]:
        """The next command, and all that comes until the printer waits for nothing more."""
        self.send(command)
        return self.rest()

    def raw(self, data: bytes) -> list[str]:
        self.printer.write(data)
        return self.rest()

    def rest(self) -> list[str]:
        self.printer.agenda.run_all()
        return self.heard()

    def wait(self, seconds: float) -> list[str]:
        self.printer.agenda.run_until(self.printer.agenda.now_s + seconds)
        return self.heard()

    def home(self) -> None:
        self.do("G28")
        self.do("G90")
        self.do("G1 Z12 F600")


@pytest.fixture
def console() -> Callable[[str], Console]:
    return lambda query="": Console(f"sim://workshop-220?{query}")


@pytest.fixture
def tri() -> Callable[[str], Console]:
    return lambda query="": Console(f"sim://workshop-tri?{query}")
