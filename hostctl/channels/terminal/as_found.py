"""A terminal taken for a while, and left as it was found."""

import os
import signal
import termios
import tty
from collections.abc import Iterator
from contextlib import contextmanager, suppress


@contextmanager
def single_keys(keyboard: int) -> Iterator[None]:
    """Keys one by one and unechoed; Ctrl-C still interrupts.

    Ctrl-Z and Ctrl-S do nothing: while the machine may move, neither this program nor its screen is
    to stand still unawares.
    """
    before = termios.tcgetattr(keyboard)
    tty.setcbreak(keyboard)
    during = termios.tcgetattr(keyboard)
    during[tty.IFLAG] &= ~termios.IXON
    during[tty.CC][termios.VSUSP] = b"\0"
    termios.tcsetattr(keyboard, termios.TCSAFLUSH, during)
    try:
        yield
    finally:
        with suppress(termios.error):  # it may have been closed
            termios.tcsetattr(keyboard, termios.TCSAFLUSH, before)


@contextmanager
def switched(screen: int, on: str, off: str) -> Iterator[None]:
    """Tell the terminal something, and take it back. Empty: nothing is told."""
    if on:
        os.write(screen, on.encode())
    try:
        yield
    finally:
        if off:
            with suppress(OSError):  # it may have been closed
                os.write(screen, off.encode())


@contextmanager
def hang_up_outlived() -> Iterator[None]:
    """A hang-up ends nothing by itself: its keyboard ends too, and that is taken in order."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGHUP, before)
