"""A pseudo-terminal as the printer's cable, for programs that want a real tty.

The other side may close it and open it again; each opening resets the board, as most boards do,
unless told not to. A pulled cable is a pseudo-terminal that has gone, its link removed; plugged in
again it is a new one under the same link, as with a stable by-id name.

Nobody holding the other side shows as a hang-up on ours, which must be looked for now and then.
"""

import asyncio
import errno
import os
import pty
import select
import tty
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from hostctl_simulators.pace import Pacer

LOOK_S = 0.02
READ_BYTES = 4096


class AtTheCable(Protocol):
    """What hangs on it: a simulated printer, or its indicator."""

    on_replugged: Callable[[], None] | None

    @property
    def connected(self) -> bool: ...
    def connect(
        self,
        on_bytes: Callable[[bytes], None],
        on_lost: Callable[[str], None],
        *,
        reset: bool = True,
    ) -> None: ...
    def write(self, data: bytes) -> None: ...
    def disconnect(self) -> None: ...


class PtyCable:
    """Keeps a link at `link` that leads to the printer, or its indicator, until closed."""

    def __init__(
        self, printer: AtTheCable, pacer: Pacer, link: Path, *, reset_on_open: bool = True
    ) -> None:
        self._printer = printer
        self._pacer = pacer
        self.link = link  # may be set while it is pulled: it comes back by another name
        self._reset = reset_on_open
        self._loop = asyncio.get_running_loop()
        self._fd = -1
        self._look: asyncio.TimerHandle | None = None
        self._unsent = bytearray()
        printer.on_replugged = self._appear
        self._appear()

    def close(self) -> None:
        """Take the pseudo-terminal and its link away."""
        self._printer.on_replugged = None
        if self._printer.connected:
            self._printer.disconnect()
        self._vanish()

    # ------------------------------------------------------------ there and gone

    def _appear(self) -> None:
        self._vanish()  # pulled while nobody held the other side
        self._fd, other = pty.openpty()
        tty.setraw(other)
        os.set_blocking(self._fd, False)
        self.link.unlink(missing_ok=True)
        self.link.symlink_to(os.ttyname(other))
        os.close(other)
        self._look_for_opening()

    def _vanish(self, why: str = "") -> None:
        if self._fd < 0:
            return
        if self._look is not None:
            self._look.cancel()
        self._loop.remove_reader(self._fd)
        self._loop.remove_writer(self._fd)
        self.link.unlink(missing_ok=True)
        os.close(self._fd)
        self._fd = -1

    def _look_for_opening(self) -> None:
        poller = select.poll()
        poller.register(self._fd, 0)
        if poller.poll(0):  # a hang-up: nobody has it open
            self._look = self._loop.call_later(LOOK_S, self._look_for_opening)
            return
        self._look = None
        self._unsent.clear()
        self._pacer.catch_up()
        self._printer.connect(self._send, self._vanish, reset=self._reset)
        self._loop.add_reader(self._fd, self._read)

    # ------------------------------------------------------------ bytes

    def _read(self) -> None:
        try:
            data = os.read(self._fd, READ_BYTES)
        except BlockingIOError:
            return
        except OSError as cause:
            if cause.errno != errno.EIO:
                raise
            self._let_go()  # the other side closed it
            return
        self._pacer.catch_up()
        self._printer.write(data)

    def _let_go(self) -> None:
        self._loop.remove_reader(self._fd)
        self._loop.remove_writer(self._fd)
        self._printer.disconnect()
        self._look_for_opening()

    def _send(self, data: bytes) -> None:
        waiting = bool(self._unsent)
        self._unsent += data
        if not waiting:
            self._write_on()

    def _write_on(self) -> None:
        with suppress(BlockingIOError):
            del self._unsent[: os.write(self._fd, self._unsent)]
        if self._unsent:
            self._loop.add_writer(self._fd, self._write_on)
        else:
            self._loop.remove_writer(self._fd)
