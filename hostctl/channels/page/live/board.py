"""The board that all phones read from: where each machine stands now, each change numbered.

What is sent is where things stand, not what happened. So a phone that slept has missed nothing:
it names the last number it saw and gets the sheets that changed since.
"""

import asyncio
import secrets
from dataclasses import dataclass

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One machine's sheet, and the number of the change that made it so."""

    number: int
    machine: str
    view: Json


class Board:
    """All sheets. Numbers of another board (before a restart) are known as such by its mark."""

    def __init__(self) -> None:
        self._mark = secrets.token_hex(4)
        self._number = 0
        self._sheets: dict[str, Sheet] = {}
        self._change = asyncio.Event()
        self.closed = False

    def put_up(self, machine: str, view: Json) -> None:
        """Show this for the machine; nothing is told when it is shown already."""
        sheet = self._sheets.get(machine)
        if sheet is None or sheet.view != view:
            self._number += 1
            self._sheets[machine] = Sheet(self._number, machine, view)
            self._wake()

    def close(self) -> None:
        """Let all who wait go."""
        self.closed = True
        self._wake()

    def since(self, number: int) -> list[Sheet]:
        """The sheets changed after this number, oldest change first."""
        changed = [sheet for sheet in self._sheets.values() if sheet.number > number]
        return sorted(changed, key=lambda sheet: sheet.number)

    async def changed_after(self, number: int) -> None:
        """Wait until something has changed after this number, or the board is closed."""
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
        """The number in an id that a browser gives back; 0 when it is none of this board."""
        mark, _, digits = event_id.partition("-")
        known = mark == self._mark and digits.isascii() and digits.isdecimal() and len(digits) < 16
        return int(digits) if known else 0

    def _wake(self) -> None:
        self._change.set()
        self._change = asyncio.Event()
