"""Simulated time: a list of things to do, each at its moment.

The agenda knows no clock of its own. Who drives it decides how fast it goes: `pace.py` on an event
loop, a test by calling `run_next` or `run_until`. Foreground entries are what the simulated printer
is waiting for (a move to end, a byte to arrive): time may jump to them. Background entries
(temperature reports on a timer) happen when time passes over them, and are never jumped to; or
else an idle printer at the highest speed would report for ever.
"""

import heapq
from collections.abc import Callable
from itertools import count


class Entry:
    """One thing to do. `cancel` takes it off the agenda."""

    __slots__ = ("_act", "background", "cancelled")

    def __init__(self, act: Callable[[], None], background: bool) -> None:
        self._act = act
        self.background = background
        self.cancelled = False

    def cancel(self) -> None:
        """Never do it."""
        self.cancelled = True

    def run(self) -> None:
        """Do it."""
        self._act()


class Agenda:
    """What happens when, in simulated seconds since the printer was first switched on."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.on_change: Callable[[], None] | None = None  # told when something was added
        self._heap: list[tuple[float, int, Entry]] = []
        self._order = count()

    def after(self, delay_s: float, act: Callable[[], None], *, background: bool = False) -> Entry:
        """Put `act` on the agenda, `delay_s` from now; equal moments keep their order."""
        entry = Entry(act, background)
        heapq.heappush(self._heap, (self.now_s + max(delay_s, 0.0), next(self._order), entry))
        if self.on_change is not None:
            self.on_change()
        return entry

    def next_s(self) -> float | None:
        """The moment of the next entry of either kind; None when there is none."""
        while self._heap and self._heap[0][2].cancelled:
            heapq.heappop(self._heap)
        return self._heap[0][0] if self._heap else None

    @property
    def waiting(self) -> bool:
        """Whether the printer is waiting for something: a foreground entry is there."""
        return any(not entry.background and not entry.cancelled for _, _, entry in self._heap)

    def run_next(self) -> bool:
        """Jump to the next foreground entry and do it, with all before it; False if none."""
        while self.waiting:
            if not self._pop():
                return True
        return False

    def run_all(self) -> None:
        """Jump from entry to entry until the printer waits for nothing more."""
        while self.run_next():
            pass

    def run_until(self, moment_s: float) -> None:
        """Let time pass to `moment_s`, doing all that falls due on the way."""
        while (due_s := self.next_s()) is not None and due_s <= moment_s:
            self._pop()
        self.now_s = max(self.now_s, moment_s)

    def _pop(self) -> bool:
        """Do the first entry; True if it was a background one."""
        if self.next_s() is None:
            return False
        moment_s, _, entry = heapq.heappop(self._heap)
        self.now_s = max(self.now_s, moment_s)
        entry.run()
        return entry.background
