"""The lines of a button and its lamp, as a button needs them; a kernel's are one kind."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The contact opened or closed, by the kernel's monotonic clock."""

    closed: bool
    at_s: float


class GpioLines(Protocol):
    """The button's line and the lamp's, as asked of the kernel."""

    fd: int

    def closed(self) -> bool:
        """Whether the contact is closed now."""
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
