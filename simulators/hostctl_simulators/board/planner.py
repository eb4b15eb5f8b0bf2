"""The queue of moves: a move is taken when there is room and done when its turn has come.

Each move starts and ends at rest and follows a trapezoid of speed. Who stops the planner in
mid-move leaves the head where it was at that moment.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt

from hostctl_simulators.agenda import Agenda, Entry
from hostctl_simulators.physical.spot import Spot

ROOM = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One straight move in the firmware's coordinates. `command` and `number`: what ordered it."""

    start: Spot
    end: Spot
    speed_mm_s: float
    command: str
    number: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneMove:
    """A move as it was carried out; `whole` False: it was stopped on the way, at `reached`."""

    move: Move
    reached: Spot
    whole: bool
    boot: int  # how often the board had started: line numbers begin anew with each
    ended_s: float


def duration_s(distance_mm: float, speed_mm_s: float, acceleration_mm_s2: float) -> float:
    """How long a move from rest to rest takes (trapezoid, or triangle when it is short)."""
    if distance_mm * acceleration_mm_s2 < speed_mm_s**2:
        return 2 * sqrt(distance_mm / acceleration_mm_s2)
    return distance_mm / speed_mm_s + speed_mm_s / acceleration_mm_s2


class Planner:
    """Carries moves out one after another."""

    def __init__(
        self, agenda: Agenda, acceleration_mm_s2: float, on_end: Callable[[Move, Spot, bool], None]
    ) -> None:
        self.on_begin: Callable[[float], None] = lambda duration_s: None
        self.on_room: Callable[[], None] = lambda: None  # told whenever a move has ended
        self._agenda = agenda
        self._acceleration_mm_s2 = acceleration_mm_s2
        self._on_end = on_end
        self._queue: deque[Move] = deque()
        self._began_s = 0.0
        self._duration_s = 0.0
        self._ending: Entry | None = None

    @property
    def free(self) -> int:
        """How many more moves it takes now."""
        return ROOM - len(self._queue)

    @property
    def idle(self) -> bool:
        """Nothing moves and nothing waits to."""
        return not self._queue

    def add(self, move: Move) -> None:
        """Queue a move; there must be room."""
        self._queue.append(move)
        if len(self._queue) == 1:
            self._begin()

    def stop(self) -> Spot | None:
        """Stop at once and forget what was queued; where it stopped, None if it was at rest."""
        if not self._queue:
            return None
        move = self._queue[0]
        self._queue.clear()
        if self._ending is not None:
            self._ending.cancel()
        part = (self._agenda.now_s - self._began_s) / self._duration_s if self._duration_s else 1.0
        reached = move.start.towards(move.end, min(part, 1.0))
        self._on_end(move, reached, False)
        return reached

    def _begin(self) -> None:
        move = self._queue[0]
        start, end = move.start, move.end
        distance_mm = sqrt(start.sideways_mm(end) ** 2 + (end.z_mm - start.z_mm) ** 2)
        self._began_s = self._agenda.now_s
        self._duration_s = duration_s(distance_mm, move.speed_mm_s, self._acceleration_mm_s2)
        self._ending = self._agenda.after(self._duration_s, self._end)
        self.on_begin(self._duration_s)

    def _end(self) -> None:
        move = self._queue.popleft()
        self._on_end(move, move.end, True)
        if self._queue:
            self._begin()
        self.on_room()
