"""The page's server: one for all machines of the daemon."""

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from hostctl.channels.page.lately import Recent, nothing_on_record
from hostctl.channels.page.pairing import PairingOffer
from hostctl.config.host import Page
from hostctl.config.machine import Machine
from hostctl.run.station import Station


class PageServer:
    """Serves the phone page until cancelled."""

    name = "phone page"

    def __init__(
        self,
        stations: Mapping[str, Station],
        settings: Page,
        *,
        now: Callable[[], datetime],
        machines: Mapping[str, Machine],
        recent: Recent = nothing_on_record,
        sessions_file: Path | None = None,
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        """`machines`: the machine files, by the names of the stations, for the drawing.

        recent: `lately.recent_from(database)`. sessions_file: where paired phones are kept over a
        restart. say: one line for the log.
        """
        self._settings = settings

    @property
    def url(self) -> str:
        """How a phone reaches the page."""
        raise NotImplementedError

    @property
    def needs_pairing(self) -> bool:
        """Whether it listens beyond this computer, so that browsers need a pairing code."""
        raise NotImplementedError

    def pair(self) -> PairingOffer:
        """A fresh pairing code: `.svg()` and `.terminal()` give its QR code."""
        raise NotImplementedError

    def forget_phones(self) -> None:
        """Shut every paired browser out."""
        raise NotImplementedError

    async def serve(self) -> None:
        """Serve until cancelled. Raises HostctlError when it can't listen there."""
        raise NotImplementedError
