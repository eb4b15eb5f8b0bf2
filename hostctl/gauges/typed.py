"""The dial indicator, read by a person who types what it shows."""

from hostctl.config.machine import Point
from hostctl.gauges.gauge import GaugeParts, unwatched
from hostctl.gauges.plunger import bring_plunger, reading_there
from hostctl.records import Position, Reading


class Typed:
    """A person's eyes on an indicator."""

    source = "typed"
    typed = True
    sends_on_press = False
    live = False
    own_zero = False
    watch = staticmethod(unwatched)

    def __init__(self, parts: GaugeParts) -> None:
        self.resolution_mm = parts.settings.resolution_mm
        self._settle_s = parts.cycle.settle_s
        self._machine = parts.machine
        self._now = parts.now

    async def bring(self, point: Point, above_mm: float = 0.0, *, slowly: bool = False) -> Position:
        """Bring the plunger down onto the bed at `point`."""
        return await bring_plunger(self._machine, point, above_mm, self._settle_s, slowly=slowly)

    async def read(self, point: Point, expected: Position, typed_mm: float | None) -> Reading:
        """What was typed, with where the head was and how warm. ValueError when that is None."""
        if typed_mm is None:
            raise ValueError("a typed gauge needs what was typed")
        return await reading_there(self._machine, expected, typed_mm, of=self, taken_at=self._now())

    async def close(self) -> None:
        """Nothing is open."""
