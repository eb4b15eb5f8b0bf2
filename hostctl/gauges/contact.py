"""A contact between nozzle and plate that nobody has to look at: a controller's input, or a line.

One look is several reads, which must agree; one that bounces tells nothing.
"""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Protocol, TypeVar

from hostctl.config.parts.tie import ContactBy, Tie
from hostctl.errors import ConfigError, MachineError
from hostctl.gpio.lines import GpioLines, WantedLines
from hostctl.gpio.opening import kernel_lines
from hostctl.machine.machine import Machine

READS = 4
APART_S = 0.01
"""One look: so many reads, and between them this. A worn switch bounces for a few milliseconds
(common practice, no source)."""

TRIES = 8
"""Reports carry no checksum: one that was damaged on the way is asked for again."""

LOOK_AT_IT = "See to leads, clip and coupler; the tie is made anew."


Word = TypeVar("Word", str, bool)


class Bounces(MachineError):
    """It opened and closed within one look."""


class Contact(Protocol):
    """What tells by itself whether nozzle and plate touch."""

    async def check_there(self) -> None:
        """Before anything moves. Raises MachineError where nothing of that name can be asked."""
        ...

    async def closed(self) -> bool:
        """Whether they do. Raises MachineError where it bounces or says nothing, and LinkError."""
        ...

    async def close(self) -> None:
        """Let go of what it holds."""
        ...


class InputContact:
    """An input that the controller reports.

    What it says while it is open is learned from the first look that found it so; whatever else it
    says later is a damaged report, and never taken for open.
    """

    def __init__(self, machine: Machine, name: str, closed_word: str) -> None:
        """name, closed_word: as the controller reports them; large letters count for small."""
        self._machine = machine
        self._where = f"input '{name}' of machine '{machine.config.machine}'"
        self._name = name.lower()
        self._closed_word = closed_word.lower()
        self._open_word: str | None = None

    async def check_there(self) -> None:
        """That it can be asked; whether it is closed does not matter yet."""
        await self._read()

    async def closed(self) -> bool:
        """Whether there is contact."""
        word = await _agreed(self._where, self._read)
        if word != self._closed_word:
            self._open_word = word
        return word == self._closed_word

    async def close(self) -> None:
        """Nothing is held."""

    async def _read(self) -> str:
        """The word it says now, one of the two that are known where both are."""
        names, words = set[str](), set[str]()
        for _ in range(TRIES):
            inputs = await self._machine.signals.inputs()
            word = inputs.get(self._name)
            if word is not None and (word == self._closed_word or self._open_word in (None, word)):
                return word
            names |= inputs.keys()
            words |= {word} if word is not None else set()
        if not words:
            told = ", ".join(sorted(names)) or "none"
            raise MachineError(
                self._where, f"it reports no such input, of these: {told}", "Mend 'tie.input'."
            )
        raise MachineError(
            self._where,
            f"it says '{min(words)}', neither '{self._open_word}' nor '{self._closed_word}'",
            "If that means contact, mend 'tie.input_closed'.",
        )


class LineContact:
    """A GPIO line of this computer."""

    def __init__(
        self, wanted: WantedLines, open_lines: Callable[[WantedLines], GpioLines] = kernel_lines
    ) -> None:
        """Raises ConfigError when the line can't be had."""
        self._where = f"{wanted.where}, {wanted.chip} line {wanted.line}"
        self._lines = open_lines(wanted)

    async def check_there(self) -> None:
        """That it can be asked; whether it is closed does not matter yet."""
        await self._read()

    async def closed(self) -> bool:
        """Whether there is contact."""
        return await _agreed(self._where, self._read)

    async def close(self) -> None:
        """Give the line back."""
        self._lines.release()

    async def _read(self) -> bool:
        try:
            return self._lines.closed()
        except OSError as cause:
            raise MachineError(
                self._where, f"the line can't be read ({cause})", LOOK_AT_IT
            ) from cause


def contact_for(tie: Tie, machine: Machine, where: str) -> Contact | None:
    """What tells of contact, by the study at `where`; None: a person does.

    Raises ConfigError when a line can't be had, and for one that is not isolated.
    """
    match tie.contact:
        case ContactBy.INPUT if tie.input is not None and tie.isolated:
            return InputContact(machine, tie.input, tie.input_closed)
        case ContactBy.LINE if tie.line is not None and tie.isolated:
            return LineContact(
                WantedLines(
                    where=where,
                    chip=tie.chip,
                    line=tie.line,
                    closed_is_low=tie.closed_is_low,
                    instead=", or say 'contact: lamp'",
                )
            )
        case ContactBy.LAMP | None:
            return None
        case _:
            raise ConfigError(
                where,
                "a contact is reached through an isolating coupler only",
                "Fit one, then say 'isolated: true'.",
            )


async def _agreed(where: str, read: Callable[[], Awaitable[Word]]) -> Word:
    """One look. Raises Bounces where its reads differ."""
    first = await read()
    for _ in range(READS - 1):
        await asyncio.sleep(APART_S)
        if await read() != first:
            raise Bounces(where, "contact bounces: it opened and closed in one look", LOOK_AT_IT)
    return first
