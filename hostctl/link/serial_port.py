"""A serial port of the operating system, a pseudo-terminal included. pyserial opens and sets it."""

import asyncio
import contextlib
import errno
import grp
import termios
from pathlib import Path

import serial

from hostctl.errors import PortError
from hostctl.link.descriptor_port import DescriptorPort
from hostctl.link.port import PortSettings
from hostctl.link.ports_present import ports_present

_RESET_PULSE_S = 0.1


async def open_serial(url: str, settings: PortSettings) -> DescriptorPort:
    """Open a serial port by its path, for us alone. Raises PortError.

    Linux raises the line that resets some boards before any program can prevent it; once the port
    was open it is left raised at closing (HUPCL cleared), so that the next opening resets nothing.
    """
    path = url.removeprefix("serial://")
    try:
        line = _opened(path, settings)
    except (OSError, ValueError) as cause:  # SerialException is an OSError
        raise _port_error(path, cause) from cause
    if settings.reset_on_open:
        await _reset(line)
    return DescriptorPort(path, line.fileno(), line.close)


def _opened(path: str, settings: PortSettings) -> serial.Serial:
    line = serial.Serial(
        path,
        settings.baud,
        timeout=0,
        write_timeout=0,
        exclusive=True,
        dsrdtr=not settings.reset_on_open,  # keeps pyserial from touching the reset line
    )
    attributes = termios.tcgetattr(line.fileno())
    attributes[2] &= ~termios.HUPCL
    attributes[6][termios.VMIN] = 1  # so that reading nothing means that the port has gone
    termios.tcsetattr(line.fileno(), termios.TCSANOW, attributes)
    with contextlib.suppress(ValueError, OSError, NotImplementedError):  # a pseudo-terminal can't
        line.set_low_latency_mode(True)
    return line


async def _reset(line: serial.Serial) -> None:
    with contextlib.suppress(OSError):  # a pseudo-terminal has no such line
        line.dtr = False
        await asyncio.sleep(_RESET_PULSE_S)
        line.dtr = True


def _port_error(path: str, cause: OSError | ValueError) -> PortError:
    if isinstance(cause, ValueError):
        return PortError(path, str(cause), "Give a baud rate that the port can do.")
    match cause.errno:
        case errno.ENOENT | errno.ENODEV | errno.ENXIO:
            return PortError(path, "there is no such port", _ports_hint())
        case errno.EACCES | errno.EPERM:
            return PortError(path, "no permission to open it", _group_hint(path))
        case errno.EAGAIN | errno.EBUSY:
            return PortError(path, "another program has it open", "Close it and try again.")
        case _:
            return PortError(path, "it is not a working serial port", _ports_hint())


def _ports_hint() -> str:
    """No guess at another name: it may be another printer's."""
    names = [port.name for port in ports_present()]
    there = f"Present now: {', '.join(names)}." if names else "No serial port is present now."
    return f"Switch the printer on and plug it in, or correct 'port:'. {there}"


def _group_hint(path: str) -> str:
    try:
        group = grp.getgrgid(Path(path).stat().st_gid).gr_name
    except (OSError, KeyError):
        group = "dialout"
    return f"Join the group '{group}' (sudo usermod -aG {group} $USER), then log in again."
