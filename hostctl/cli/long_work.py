"""How far long work has come and about how long it will still take, on a terminal."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from threading import Event, Thread
from time import monotonic
from typing import TextIO

BEAT_S = 0.5  # what is over sooner says nothing
CLEAR_LINE = "\r\x1b[K"


class LongWork:
    """Says, in one line that is written over and goes when all is done, what is being worked on.

    The shares of the stages, in any unit, are what they took when measured; how fast this computer
    is shows as soon as one is over. Ctrl-C ends the work as ever.
    """

    def __init__(
        self,
        shares: Mapping[str, float],
        *,
        shown: bool,
        out: TextIO | None = None,
        clock: Callable[[], float] = monotonic,
    ) -> None:
        """shares: of each stage by its name, in their order.  shown: whether to say anything."""
        self._shares = shares
        self._shown = shown
        self._out = out or sys.stderr
        self._clock = clock
        self._done: dict[str, float] = {}

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Work on this stage; the stages come in the order of their shares."""
        began, over = self._clock(), Event()
        ticker = Thread(target=self._tell, args=(name, began, over), daemon=True)
        if self._shown:
            ticker.start()
        try:
            yield
        finally:
            over.set()
            self._done[name] = self._clock() - began
            if self._shown:
                ticker.join()
                self._out.write(CLEAR_LINE)
                self._out.flush()

    def line(self, name: str, elapsed_s: float) -> str:
        """What is said so long into a stage."""
        left = self.left_s(name, elapsed_s)
        return f"{name} …" if left is None else f"{name} … about {max(left, 1.0):.0f} s left"

    def left_s(self, name: str, elapsed_s: float) -> float | None:
        """Seconds to the end of all; None while no stage has shown how fast this computer is."""
        worked = sum(self._shares[stage] for stage in self._done)
        if not worked:
            return None
        pace = sum(self._done.values()) / worked
        ahead = sum(
            share
            for stage, share in self._shares.items()
            if stage not in self._done and stage != name
        )
        return pace * ahead + max(pace * self._shares[name] - elapsed_s, 0.0)

    def _tell(self, name: str, began: float, over: Event) -> None:
        while not over.wait(BEAT_S):
            self._out.write(f"{CLEAR_LINE}{self.line(name, self._clock() - began)}")
            self._out.flush()
