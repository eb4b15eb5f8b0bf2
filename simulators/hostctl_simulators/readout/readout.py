"""An indicator that sends lines: by itself or when asked, restless after each change, with faults.

It shares its printer's world. Its own pace is the event loop's, whatever the printer's: a printer
at the highest speed stands still between orders, and its indicator is to be read then.
"""

import asyncio
import math
from collections.abc import Callable
from dataclasses import asdict, dataclass
from random import Random
from urllib.parse import parse_qsl

from hostctl_simulators.chance import normal, stream
from hostctl_simulators.physical.world import World
from hostctl_simulators.readout.spoken import NO_READING, SPOKEN

OnBytes = Callable[[bytes], None]
OnLost = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadoutKind:
    """How it sends, and what goes wrong on purpose. Shares are of its lines."""

    spoken: str = "plain"  # a key of SPOKEN
    request: str = ""  # it sends at each of these; empty: by itself
    every_s: float = 0.05  # between two lines that it sends by itself, and before an answer
    noise_mm: float = 0.0  # standard deviation of the first line after a change
    halves_in: float = 4.0  # so many lines later the noise is half as much
    silent_after: int = 0  # lines, then nothing more; 0: never
    stuck_after: int = 0  # lines, then the same number for ever; 0: never
    garbage: float = 0.0  # other bytes instead
    cut: float = 0.0  # cut off somewhere
    no_reading: float = 0.0  # says that it has none
    unplugged_after: int = 0  # lines; 0: never
    plugged_in_after_s: float = 0.0  # again; 0: never

    def __post_init__(self) -> None:
        if self.spoken not in SPOKEN:
            raise ValueError(f"an indicator speaks {', '.join(SPOKEN)}, not '{self.spoken}'")
        if not all(0 <= share <= 1 for share in (self.garbage, self.cut, self.no_reading)):
            raise ValueError("a share of lines lies between 0 and 1")
        if not (self.every_s > 0 and self.halves_in > 0):
            raise ValueError("'every_s' and 'halves_in' must be above 0")

    @classmethod
    def parse(cls, query: str) -> "tuple[ReadoutKind, list[tuple[str, str]]]":
        """From a url's query, with what in it is none of its keys. Raises ValueError."""
        asked = parse_qsl(query, keep_blank_values=True, strict_parsing=bool(query))
        own = {key: type(value) for key, value in asdict(cls()).items()}
        try:
            kind = cls(**{key: own[key](text) for key, text in asked if key in own})
        except ValueError as cause:
            raise ValueError(f"of an indicator: {cause}") from None
        return kind, [(key, text) for key, text in asked if key not in own]


class Readout:
    """One indicator's line. Time is the running loop's."""

    def __init__(self, world: World, kind: ReadoutKind) -> None:
        self.kind = kind
        self.sent = 0  # lines
        self.plugged = True
        self.on_replugged: Callable[[], None] | None = None
        self._world = world
        self._chance: Random = stream(world.seed, "an indicator's line")
        self._on_bytes: OnBytes | None = None
        self._on_lost: OnLost | None = None
        self._due: asyncio.TimerHandle | None = None
        self._shown_mm: float | None = None
        self._changed_at = 0  # the line before which it last changed

    @property
    def connected(self) -> bool:
        """Whether somebody holds the other end of the cable."""
        return self._on_bytes is not None

    def connect(self, on_bytes: OnBytes, on_lost: OnLost, *, reset: bool = True) -> None:
        """Take the other end; nothing is reset by it. Raises ConnectionError."""
        if not self.plugged:
            raise ConnectionError("the cable is not plugged in")
        if self.connected:
            raise ConnectionError("somebody else holds it")
        self._on_bytes, self._on_lost = on_bytes, on_lost
        if not self.kind.request:
            self._send_soon()

    def write(self, data: bytes) -> None:
        """Requests; whatever else it is told means nothing to it."""
        for _ in range(data.count(self.kind.request.encode()) if self.kind.request else 0):
            self._send_soon()

    def disconnect(self) -> None:
        """Let go of the cable."""
        self._on_bytes = self._on_lost = None
        if self._due is not None:
            self._due.cancel()

    def unplug(self) -> None:
        """Pull the cable; it is plugged in again where its kind says so."""
        self.plugged = False
        on_lost = self._on_lost
        self.disconnect()
        if self.kind.plugged_in_after_s:
            asyncio.get_running_loop().call_later(self.kind.plugged_in_after_s, self.replug)
        if on_lost is not None:
            on_lost("the cable was pulled")

    def replug(self) -> None:
        """Plug it in again."""
        self.plugged = True
        if self.on_replugged is not None:
            self.on_replugged()

    # ------------------------------------------------------------ lines

    def _send_soon(self) -> None:
        self._due = asyncio.get_running_loop().call_later(self.kind.every_s, self._send)

    def _send(self) -> None:
        if self._on_bytes is None or 0 < self.kind.silent_after <= self.sent:
            return
        self.sent += 1
        if self.sent == self.kind.unplugged_after:
            self.unplug()
            return
        self._on_bytes(self._line())
        if not self.kind.request:
            self._send_soon()

    def _line(self) -> bytes:
        whole = SPOKEN[self.kind.spoken](self._shows_mm()).encode()
        drawn = self._chance.random()
        if drawn < self.kind.garbage:
            return self._chance.randbytes(self._chance.randrange(1, 40))
        if drawn < self.kind.garbage + self.kind.cut:
            return whole[: self._chance.randrange(1, len(whole))]
        if drawn < self.kind.garbage + self.kind.cut + self.kind.no_reading:
            return NO_READING.encode()
        return whole

    def _shows_mm(self) -> float:
        if self._shown_mm is not None and 0 < self.kind.stuck_after < self.sent:
            return self._shown_mm
        shown_mm = self._world.shown_mm()
        if shown_mm != self._shown_mm:
            self._shown_mm, self._changed_at = shown_mm, self.sent
        quieter = math.pow(0.5, (self.sent - self._changed_at) / self.kind.halves_in)
        noise_mm = self.kind.noise_mm * normal(self._world.seed, "readout", self.sent)
        return shown_mm + quieter * noise_mm
