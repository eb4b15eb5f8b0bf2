"""The page's own files, read once. Nothing else is ever served."""

from dataclasses import dataclass
from importlib.resources import files

TYPES = {
    ".html": "text/html",
    ".css": "text/css",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
}


@dataclass(frozen=True, slots=True)
class Asset:
    """One file as it is sent."""

    body: bytes
    content_type: str


def read_assets() -> dict[str, Asset]:
    """Every file of `assets/`, by its name."""
    folder = files("hostctl.channels.page").joinpath("assets")
    return {
        entry.name: Asset(entry.read_bytes(), TYPES["." + entry.name.rpartition(".")[2]])
        for entry in folder.iterdir()
    }
