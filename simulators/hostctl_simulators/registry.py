"""The printers of this process by their url: the port and the people find the same world here."""

from urllib.parse import urlencode, urlsplit

from hostctl_simulators.physical.world import World
from hostctl_simulators.readout.readout import Readout, ReadoutKind
from hostctl_simulators.simulated_printer import Description, SimulatedPrinter

_printers: dict[Description, SimulatedPrinter] = {}
_readouts: dict[tuple[Description, ReadoutKind], Readout] = {}

INDICATOR = "/indicator"


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


def find_readout(url: str) -> Readout:
    """The indicator with this url: a printer's, `/indicator` after its name, and more keys.

    The keys that are the printer's own say which printer. Raises ValueError for a bad url.
    """
    parts = urlsplit(url)
    kind, others = ReadoutKind.parse(parts.query)
    printer = find_printer(f"sim://{parts.netloc}?{urlencode(others)}")
    key = printer.description, kind
    if key not in _readouts:
        _readouts[key] = Readout(printer.world, kind)
    return _readouts[key]


def forget_printers() -> None:
    """Begin afresh: the next call for any url makes a new world, just delivered."""
    _printers.clear()
    _readouts.clear()
