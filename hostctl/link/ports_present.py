"""The serial ports that are plugged in now, by the names that stay."""

from dataclasses import dataclass
from pathlib import Path

_BY_ID = Path("/dev/serial/by-id")


@dataclass(frozen=True, slots=True, kw_only=True)
class PortPresent:
    """A port to choose from."""

    name: str
    """The stable by-id path if there is one: device names swap when things are plugged again."""
    device: str
    description: str


def ports_present(by_id: Path = _BY_ID) -> list[PortPresent]:
    """The serial ports of this computer, sorted by name."""
    from serial.tools.list_ports import comports  # slow to load, and only needed here

    stable = _stable_names(by_id)
    found = [
        PortPresent(
            name=stable.get(port.device, port.device),
            device=port.device,
            description=port.description or "",
        )
        for port in comports()
    ]
    return sorted(found, key=lambda port: port.name)


def _stable_names(by_id: Path) -> dict[str, str]:
    if not by_id.is_dir():
        return {}
    return {str(link.resolve()): str(link) for link in sorted(by_id.iterdir())}
