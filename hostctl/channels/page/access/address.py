"""How a phone reaches this computer: an address, since phones often can't look up local names."""

import socket

from hostctl.config.host import Page

_NOWHERE = ("192.0.2.1", 9)  # RFC 5737: for documentation; choosing a route sends nothing


def page_url(settings: Page, port: int) -> str:
    """The page's address, as it goes into the QR code."""
    host = settings.address or _listening_at(settings.listen)
    scheme = "https" if settings.certificate_file else "http"
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{port}"


def _listening_at(listen: str) -> str:
    return _outward_address() if listen in ("0.0.0.0", "::", "") else listen


def _outward_address() -> str:
    """The address of the interface that leads out; this computer's name when there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])
