"""Temperatures that a board tells by itself, every so often."""

from collections.abc import Callable

from hostctl_simulators.agenda import Agenda, Entry


class Reports:
    """Those of one board; none until they are asked for."""

    def __init__(self, agenda: Agenda, tell: Callable[[], None]) -> None:
        self._agenda = agenda
        self._tell = tell
        self._next: Entry | None = None

    def every(self, seconds: float) -> None:
        """From now on; 0: no more."""
        if self._next is not None:
            self._next.cancel()
            self._next = None
        if seconds > 0:
            self._next = self._agenda.after(seconds, lambda: self._due(seconds), background=True)

    def _due(self, every_s: float) -> None:
        self._tell()
        self.every(every_s)
