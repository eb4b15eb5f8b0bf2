"""The kernel's input events as bytes: one key going down, with the time the kernel gave it."""

import struct
from collections.abc import Iterator
from dataclasses import dataclass

_EVENT = struct.Struct("@llHHi")  # time (s, us), type, code, value: struct input_event
_KEY_EVENT, _WENT_DOWN = 1, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyDown:
    """A key went down (not: repeats while it is held, nor comes up again)."""

    code: int
    at_s: float  # by the clock that the kernel stamps this device's events with


class EventReader:
    """Bytes in, keys out, however the bytes are cut."""

    def __init__(self) -> None:
        self._rest = b""

    def feed(self, data: bytes) -> Iterator[KeyDown]:
        """The keys that went down in `data`."""
        data = self._rest + data
        whole = len(data) - len(data) % _EVENT.size
        self._rest = data[whole:]
        for seconds, micros, kind, code, value in _EVENT.iter_unpack(data[:whole]):
            if kind == _KEY_EVENT and value == _WENT_DOWN:
                yield KeyDown(code=code, at_s=seconds + micros / 1e6)
