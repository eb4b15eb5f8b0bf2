"""`hostctl ports`: the serial ports, by the names that stay the same."""

import os
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path

EXAMPLE = "hostctl ports"
BARE_NAMES = ("ttyUSB*", "ttyACM*", "ttyAMA*")


def add_arguments(parser: ArgumentParser) -> None:
    """There are no options."""


def act(args: Namespace) -> int:
    """Print the ports; nothing is opened, because opening can reset a board."""
    print(describe_ports(Path("/dev")))
    return 0


def describe_ports(devices: Path) -> str:
    """One line a port under `devices`, and what to do with the name."""
    lines = [f"{name}{_trouble(name)}" for name in _ports(devices)]
    if not lines:
        return (
            "No serial port is there. Plug the printer in and switch it on; "
            "a charging cable has no data lines.\n"
            "To try without a printer: hostctl run rig-check --machine sim-220 --simulated-people"
        )
    return "\n".join([*lines, "", "Put the name of your printer's port into its machine file."])


def _ports(devices: Path) -> Iterator[Path]:
    stable = [
        path for folder in ("by-id", "by-path") for path in (devices / "serial" / folder).glob("*")
    ]
    named = set()
    for path in sorted(stable):
        if path.resolve() not in named:
            named.add(path.resolve())
            yield path
    for pattern in BARE_NAMES:
        yield from (path for path in sorted(devices.glob(pattern)) if path not in named)


def _trouble(port: Path) -> str:
    if os.access(port, os.R_OK | os.W_OK):
        return ""
    return "   (not permitted: add yourself to the group 'dialout', then log in again)"
