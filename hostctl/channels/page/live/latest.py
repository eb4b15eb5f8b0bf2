"""What all phones read from: how each machine stands now, each change numbered.

What is sent is where things stand, not what happened. So a phone that slept has missed nothing:
it names the last number it saw and gets what changed since.
"""

import asyncio
import secrets
from dataclasses import dataclass

from hostctl.channels.view.data import Json


@dataclass(frozen=True, slots=True)
class Numbered:
    """One machine as the page shows it, and the number of the change that made it so."""

    number: int
    machine: str
    shown: Json


class Latest:
    """All machines. Numbers from before a restart are known as such by the mark."""

    def __init__(self) -> None:
        self._mark = secrets.token_hex(4)
        self._number = 0
        self._machines: dict[str, Numbered] = {}
        self._change = asyncio.Event()
        self.closed = False

    def put(self, machine: str, shown: Json) -> None:
        """Show this of the machine; nothing is told when it is shown already."""
        before = self._machines.get(machine)
        if before is None or before.shown != shown:
            self._number += 1
            self._machines[machine] = Numbered(self._number, machine, shown)
            self._wake()

    def close(self) -> None:
        """Let all who wait go."""
        self.closed = True
        self._wake()

    def since(self, number: int) -> list[Numbered]:
        """The machines that changed after this number, oldest change first."""
        changed = [each for each in self._machines.values() if each.number > number]
        return sorted(changed, key=lambda each: each.number)

    async def changed_after(self, number: int) -> None:
        """Wait until something has changed after this number, or it is closed."""
        while self._number <= number and not self.closed:
            await self._change.wait()

    @property
    def mark(self) -> str:
        """Another after each start of the host."""
        return self._mark

    def event_id(self, number: int) -> str:
        """The number as a browser is told it."""
        return f"{self._mark}-{number}"

    def number_of(self, event_id: str) -> int:
        """The number in an id that a browser gives back; 0 when it is none of ours."""
        mark, _, digits = event_id.partition("-")
        known = mark == self._mark and digits.isascii() and digits.isdecimal() and len(digits) < 16
        return int(digits) if known else 0

    def _wake(self) -> None:
        self._change.set()
        self._change = asyncio.Event()
