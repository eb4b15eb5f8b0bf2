"""What a board can be doing, what its deeds wait for, and the log of commands obeyed."""

from collections.abc import Generator
from dataclasses import dataclass
from enum import Enum


class Until(Enum):
    """What a deed can wait for, besides seconds."""

    AT_REST = "all moves done"
    ROOM = "room for one more move"


AT_REST, ROOM = Until.AT_REST, Until.ROOM

Deed = Generator[float | Until, None, None]


class State(Enum):
    """What the board is doing."""

    OFF = "off"
    BOOTING = "booting"
    RUNNING = "running"
    STALLED = "stalled"
    HALTED = "halted"
    STOPPED = "stopped"  # takes and acknowledges orders, and does none that moves or heats

    @property
    def listens(self) -> bool:
        """Whether lines are taken."""
        return self in (State.RUNNING, State.HALTED, State.STOPPED)

    @property
    def works(self) -> bool:
        """Whether orders are begun, be it only to acknowledge them."""
        return self in (State.RUNNING, State.STOPPED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Obeyed:
    """A command as it was begun. Line numbers begin anew with each boot."""

    number: int | None
    text: str
    damaged: bool
    boot: int
