"""Drives an agenda on an event loop: as fast as it can, in real time, or by a factor of it."""

import asyncio
from dataclasses import dataclass

from hostctl_simulators.agenda import Agenda

ENTRIES_A_TURN = 8  # at the highest speed: how much is done before others get their turn


@dataclass(frozen=True, slots=True)
class Speed:
    """Simulated seconds a real second; None: no real second is ever waited for."""

    factor: float | None

    @classmethod
    def parse(cls, text: str) -> "Speed":
        """`max`, `real` or a factor above 0 such as `50`. Raises ValueError otherwise."""
        if text == "max":
            return cls(None)
        factor = 1.0 if text == "real" else _factor(text)
        if not 0 < factor < float("inf"):
            raise ValueError(f"a speed is max, real or a number above 0, not '{text}'")
        return cls(factor)


def _factor(text: str) -> float:
    """0, which is no speed, for what is no number."""
    try:
        return float(text)
    except ValueError:
        return 0.0


MAX = Speed(None)


class Pacer:
    """Keeps the agenda going on the running loop until stopped."""

    def __init__(self, agenda: Agenda, speed: Speed) -> None:
        self._agenda = agenda
        self._factor = speed.factor
        self._loop = asyncio.get_running_loop()
        self._real_zero_s = self._loop.time()
        self._zero_s = agenda.now_s
        self._handle: asyncio.Handle | None = None
        agenda.on_change = self._arrange
        self._arrange()

    def catch_up(self) -> None:
        """Bring simulated time up to now; call it before anything reaches the printer."""
        if self._factor is not None:
            real_s = self._loop.time() - self._real_zero_s
            self._agenda.run_until(self._zero_s + real_s * self._factor)

    def stop(self) -> None:
        """Let simulated time stand still."""
        self._agenda.on_change = None
        if self._handle is not None:
            self._handle.cancel()

    def _arrange(self) -> None:
        if self._factor is None:
            if self._handle is None and self._agenda.waiting:
                self._handle = self._loop.call_soon(self._jump)
            return
        due_s = self._agenda.next_s()
        if self._handle is not None:
            self._handle.cancel()
            self._handle = None
        if due_s is not None:
            real_s = self._real_zero_s + (due_s - self._zero_s) / self._factor
            self._handle = self._loop.call_at(real_s, self._pass)

    def _jump(self) -> None:
        for _ in range(ENTRIES_A_TURN):
            if not self._agenda.run_next():
                break
        self._handle = None
        if self._agenda.on_change is not None:
            self._arrange()

    def _pass(self) -> None:
        self._handle = None
        self.catch_up()
        if self._agenda.on_change is not None:
            self._arrange()
