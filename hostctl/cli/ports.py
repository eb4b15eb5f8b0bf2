"""`hostctl ports`: the serial ports, by the names that stay the same."""

import os
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.link.ports_present import PortPresent, ports_present

EXAMPLE = "hostctl ports"
NO_PORT = """\
No serial port is there. Plug the printer in and switch it on; a charging cable has no data lines.
To try without a printer: hostctl run rig-check --machine sim-220 --simulated-people"""


def add_arguments(parser: ArgumentParser) -> None:
    """There are no options."""


def act(args: Namespace) -> int:
    """Print the ports; nothing is opened, because opening can reset a board."""
    ports = ports_present()
    print(described(ports))
    if for_people():
        from hostctl.cli.next_steps.after_looking import after_ports

        say_beside([*after_ports(len(ports))])
    return 0


def described(ports: Sequence[PortPresent]) -> str:
    """One line a port, and what to do with the name."""
    if not ports:
        return NO_PORT
    lines = [f"{port.name}{_what_it_is(port)}{_trouble(port)}" for port in ports]
    return "\n".join([*lines, "", "Put the name of your printer's port into its machine file."])


def _what_it_is(port: PortPresent) -> str:
    known = port.description not in ("", "n/a", port.name)  # what pyserial says of unknown ones
    return f"   {port.description}" if known else ""


def _trouble(port: PortPresent) -> str:
    if os.access(port.device, os.R_OK | os.W_OK):
        return ""
    return "   (not permitted: add yourself to the group 'dialout', then log in again)"
