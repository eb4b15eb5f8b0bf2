"""A measuring cable that types what the indicator shows, as event bytes into a named pipe."""

import os
import struct
import time
from contextlib import suppress
from pathlib import Path

from hostctl_simulators.physical.world import World

EVENT = struct.Struct("@llHHi")  # struct input_event, Linux UAPI
CODES = {
    **{digit: 2 + index for index, digit in enumerate("1234567890")},
    **{"-": 12, ".": 52, "\n": 28},
}


class TypingCable:
    """A pipe at `path`, until closed; each press types a number and Enter."""

    def __init__(self, world: World, path: Path) -> None:
        self._world = world
        self._path = path
        path.unlink(missing_ok=True)
        os.mkfifo(path)
        self._pipe = os.open(path, os.O_RDWR | os.O_NONBLOCK)
        world.on_send = self.press

    def press(self) -> None:
        """The button of the cable is pressed."""
        self.type(f"{self._world.shown_mm():.3f}\n")

    def type(self, text: str) -> None:
        """Each sign goes down and up again; where nobody reads, it is lost in the end."""
        for sign in text:
            with suppress(BlockingIOError):
                os.write(self._pipe, event(CODES[sign], 1) + event(CODES[sign], 0))

    def close(self) -> None:
        """Pull it."""
        self._world.on_send = None
        os.close(self._pipe)
        self._path.unlink(missing_ok=True)


def event(code: int, value: int) -> bytes:
    """One key going down (1) or up (0), now."""
    seconds, rest_s = divmod(time.time(), 1)
    return EVENT.pack(int(seconds), int(rest_s * 1e6), 1, code, value)
