"""Messages and the phone page, where host.yaml asks for them. Nothing of theirs is loaded else."""

from collections.abc import Awaitable, Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.channels.view.data import Json
from hostctl.config.directory import Directory
from hostctl.config.host import Messages
from hostctl.config.host import Page as PageSettings
from hostctl.daemon.drafting import RigsKnown
from hostctl.daemon.in_use import InUse
from hostctl.daemon.log.event_log import EventLog
from hostctl.errors import DaemonError
from hostctl.run.station import Station
from hostctl.store.store import Store

if TYPE_CHECKING:
    from hostctl.channels.page.server import PageServer

Serve = Callable[[], Awaitable[None]]


class Remote:
    """The ways to people who are not at the machine."""

    def __init__(
        self,
        stations: Mapping[str, Station],
        store: Store,
        log: EventLog,
        now: Callable[[], datetime],
        in_use: InUse,
        report_of: Callable[[int], Awaitable[Path | None]],
    ) -> None:
        """report_of: given a run, the file of its report, if there is one."""
        self._stations = stations
        self._store = store
        self._log = log
        self._now = now
        self._in_use = in_use
        self._report_of = report_of
        self._page: PageServer | None = None

    async def ways(self, directory: Directory) -> dict[str, Serve]:
        """What is to be served, by name. Raises ConfigError or StoreError."""
        found: dict[str, Serve] = {}
        if directory.host.messages is not None:
            found |= await self._messages(directory.host.messages)
        if directory.host.page is not None:
            self._page = self._page_server(directory, directory.host.page)
            found["page"] = self._page.serve
        return found

    def pair(self) -> Json:
        """A pairing code for a phone. Raises DaemonError where there is no page."""
        made = self._the_page().pair()
        self._log.say("pair", until=f"{made.until:%H:%M:%SZ}")  # never the code itself
        return {"address": made.url, "text": made.terminal()}

    def forget_phones(self) -> None:
        """Shut every paired phone out. Raises DaemonError where there is no page."""
        self._the_page().forget_phones()
        self._log.say("phones-forgotten")

    def _the_page(self) -> "PageServer":
        if self._page is None:
            raise DaemonError("host.yaml", "no phone page is set up", "Add a section 'page:'.")
        return self._page

    async def _messages(self, settings: Messages) -> dict[str, Serve]:
        from hostctl.channels.messages.channel import MessagesChannel
        from hostctl.channels.messages.connection.client_ids import FILE_NAME, ClientIds
        from hostctl.channels.messages.connection.urgent import ABOUT
        from hostctl.channels.messages.schemas import FOLDER

        self._log.say("messages", broker=f"{settings.broker}:{settings.port}", schemas=FOLDER)
        ids = ClientIds(self._store.path.with_name(FILE_NAME), self._says("messages", None))
        found: dict[str, Serve] = {}
        for name, station in self._stations.items():
            channel = MessagesChannel(
                station,
                settings,
                now=self._now,
                outbox=await self._store.outbox(name, most_waiting=settings.most_waiting),
                say=self._says("messages", name),
                ids=ids,
            )
            found[f"messages of {name}"] = channel.serve
            found[f"{ABOUT} of {name}"] = channel.urgent.serve
        return found

    def _page_server(self, directory: Directory, settings: PageSettings) -> "PageServer":
        from hostctl.channels.page.drafting import Workbench
        from hostctl.channels.page.live.lately import recent_from
        from hostctl.channels.page.server import PageServer

        return PageServer(
            self._stations,
            settings,
            now=self._now,
            machines={name: filed.checked for name, filed in directory.machines.items()},
            recent=recent_from(self._store.path),
            sessions_file=Path(self._store.path).with_name("page-sessions.json"),
            say=self._says("page", None),
            plans=self._in_use.plans,
            report_of=self._report_of,
            drafts=Workbench(
                machines=self._in_use.machines,
                taken=lambda: frozenset(self._in_use.plans()),
                rig_of=RigsKnown(self._store).of,
                keep=self._keep_study,
            ),
        )

    async def _keep_study(self, name: str, text: str) -> None:
        """Keep it, and offer it. Raises ConfigError or DaemonError."""
        await self._in_use.keep_study(name, text)
        for station in self._stations.values():
            station.changed()

    def _says(self, event: str, machine: str | None) -> Callable[[str], None]:
        return lambda text: self._log.say(event, machine=machine, text=text)
