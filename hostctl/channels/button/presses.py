"""From the edges of a bouncing contact to presses: pure, on time stamps, no clock.

A change of level counts once it has lasted `debounce_s`; a press is long once the level has lasted
`long_press_s`. A contact found closed when we start looking has to be let go before it counts.
"""

from dataclasses import dataclass
from enum import StrEnum


class Length(StrEnum):
    """How long a press was."""

    SHORT = "short"  # told when it is let go
    LONG = "long"  # told while it is still down, once it has lasted long enough


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """One press of the button; `began_s` is when the contact first closed."""

    length: Length
    began_s: float


class Contact:
    """One contact. Feed it edges, and `tick` it when `due_s` has come."""

    def __init__(self, *, debounce_s: float, long_press_s: float, closed_s: float | None) -> None:
        """`closed_s`: since when it is closed, if it is when we start looking."""
        self._debounce_s = debounce_s
        self._long_press_s = long_press_s
        self._closed = closed_s is not None  # the level that lasted
        self._told = closed_s is not None  # nothing more is to be told of this press
        self._began_s = closed_s or 0.0
        self._changing: tuple[bool, float] | None = None  # the other level, since when

    @property
    def due_s(self) -> float | None:
        """When to call `tick`, if no edge comes before."""
        if self._changing is not None:
            return self._changing[1] + self._debounce_s
        if self._closed and not self._told:
            return self._began_s + self._long_press_s
        return None

    def edge(self, *, closed: bool, at_s: float) -> list[Press]:
        """The contact opened or closed at `at_s`. Gives the presses that are certain by then."""
        presses = self.tick(at_s)
        if closed == self._closed:
            self._changing = None  # it fell back before it had lasted: a bounce
        else:
            self._changing = (closed, at_s)
        return presses

    def tick(self, now_s: float) -> list[Press]:
        """Time has passed. Gives the presses that have become certain."""
        presses: list[Press] = []
        if self._changing is not None and now_s >= self._changing[1] + self._debounce_s:
            presses += self._settle(*self._changing)
        if self._closed and not self._told and now_s >= self._began_s + self._long_press_s:
            self._told = True
            presses.append(Press(length=Length.LONG, began_s=self._began_s))
        return presses

    def _settle(self, closed: bool, since_s: float) -> list[Press]:
        self._closed, self._changing = closed, None
        if closed:
            self._began_s, self._told = since_s, False
            return []
        if self._told:
            return []
        self._told = True
        held_s = since_s - self._began_s
        length = Length.LONG if held_s >= self._long_press_s else Length.SHORT
        return [Press(length=length, began_s=self._began_s)]
