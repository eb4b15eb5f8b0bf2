"""GPIO lines as those who use them need them; a kernel's are one kind."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLines:
    """Which lines are asked for, and by what part of which file."""

    where: str
    chip: str
    line: int
    """What is read."""
    closed_is_low: bool
    """Whether what closes it pulls it low; the computer pulls it the other way."""
    lamp_line: int | None = None
    instead: str = ""
    """What else can be done where the library is missing, as the end of a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The contact opened or closed, by the kernel's monotonic clock."""

    closed: bool
    at_s: float


class GpioLines(Protocol):
    """The line that is read and the lamp's, as asked of the kernel."""

    fd: int

    def closed(self) -> bool:
        """Whether the contact is closed now. Raises OSError when the line went away."""
        ...

    def edges(self) -> Sequence[Edge]:
        """The edges that wait; called when `fd` is readable."""
        ...

    def lamp(self, *, lit: bool) -> None:
        """Light the lamp, or put it out; nothing where there is none."""
        ...

    def release(self) -> None:
        """Give the lines back."""
        ...
