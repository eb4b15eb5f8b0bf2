"""One input device of the kernel's, read as bytes; no library is needed for it."""

import asyncio
import fcntl
import os
import stat
import struct
import time
from collections.abc import Callable

from hostctl.input_events.events import EventReader, KeyDown

_GRAB = 0x40044590  # EVIOCGRAB, Linux UAPI input.h
_STAMP_BY = 0x400445A0  # EVIOCSCLOCKID, there too
_PIECE = 4096


def hold_alone(fd: int) -> None:
    """Keep its keys from everything else, a console included, until it is closed.

    A named pipe has no console to be kept from. Raises OSError: another program holds it (EBUSY),
    or it is no input device.
    """
    if stat.S_ISFIFO(os.fstat(fd).st_mode):
        return
    fcntl.ioctl(fd, _GRAB, 1)


def open_device(path: str, hold: Callable[[int], None] = hold_alone) -> "InputDevice":
    """Open it and hold it, by `hold`. Raises OSError."""
    fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        hold(fd)
        return InputDevice(fd)
    except OSError:
        os.close(fd)
        raise


class InputDevice:
    """An open one, in the event loop."""

    def __init__(self, fd: int) -> None:
        """fd: open and non-blocking; it is closed by `close`."""
        self._fd = fd
        self._open = True
        self._events = EventReader()
        self.clock = _stamping_clock(fd)
        """The one that stamps its keys, s."""

    def start(self, on_key: Callable[[KeyDown], None], on_gone: Callable[[OSError], None]) -> None:
        """Begin to tell of keys; on_gone: told once why no more will come."""
        asyncio.get_running_loop().add_reader(self._fd, self._readable, on_key, on_gone)

    def close(self) -> None:
        """Let go of it. May be called more than once."""
        if self._open:
            self._open = False
            asyncio.get_running_loop().remove_reader(self._fd)
            os.close(self._fd)

    def _readable(
        self, on_key: Callable[[KeyDown], None], on_gone: Callable[[OSError], None]
    ) -> None:
        why = OSError(0, "it was unplugged")
        try:
            data = os.read(self._fd, _PIECE)
        except BlockingIOError:
            return
        except OSError as cause:
            data, why = b"", cause
        for key in self._events.feed(data):
            on_key(key)
        if not data:
            self.close()
            on_gone(why)


def _stamping_clock(fd: int) -> Callable[[], float]:
    """Have keys stamped by the clock that nobody can set, where the device can."""
    try:
        fcntl.ioctl(fd, _STAMP_BY, struct.pack("i", time.CLOCK_MONOTONIC))
    except OSError:
        return time.time  # not an input device
    return time.monotonic
