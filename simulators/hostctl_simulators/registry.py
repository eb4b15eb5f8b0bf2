"""The printers of this process by their url: the port and the people find the same world here."""

from hostctl_simulators.physical.world import World
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter

_printers: dict[Description, SimulatedPrinter] = {}


def find_printer(url: str) -> SimulatedPrinter:
    """The printer with this `sim://` url, made at the first call.

    Urls that describe the same are the same printer. Raises ValueError for a bad url.
    """
    description = Description.parse(url)
    if description not in _printers:
        _printers[description] = SimulatedPrinter(description)
    return _printers[description]


def find_world(url: str) -> World:
    """The physical side of the printer with this url. Raises ValueError for a bad url."""
    return find_printer(url).world


def forget_printers() -> None:
    """Begin afresh: the next call for any url makes a new world, just delivered."""
    _printers.clear()
