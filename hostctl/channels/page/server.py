"""The page's server: one for all machines of the daemon, put together from its parts."""

import asyncio
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from aiohttp import web

from hostctl.channels.page.access.admission import Admission
from hostctl.channels.page.access.connections import Connections
from hostctl.channels.page.access.listener import Listener, places_of
from hostctl.channels.page.access.pairing import PairingOffer
from hostctl.channels.page.access.tls import tls_of
from hostctl.channels.page.acts import CHANNEL
from hostctl.channels.page.drafting import Drafting, Workbench
from hostctl.channels.page.live.follow import Follower
from hostctl.channels.page.live.lately import Recent, nothing_on_record
from hostctl.channels.page.live.latest import Latest
from hostctl.channels.page.live.on_page import geometry_of
from hostctl.channels.page.live.watchers import Watchers
from hostctl.channels.page.reports import KeptReports, ReportOf, no_report
from hostctl.channels.page.routes import Routes
from hostctl.config.host import Page
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.errors import DaemonError, HostctlError
from hostctl.run.station import Station

ENDS_WITHIN_S = 1.0


class PageServer:
    """Serves the phone page until cancelled. To be made on the event loop."""

    name = CHANNEL

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
        plans: Callable[[], Mapping[str, Study]] = dict,
        report_of: ReportOf = no_report,
        drafts: Workbench | None = None,
        clock: Callable[[], float] | None = None,
    ) -> None:
        """`machines`: the machine files, by the names of the stations, for the drawing.

        recent: `lately.recent_from(database)`. sessions_file: where paired phones are kept over a
        restart. say: one line for the log. plans: the studies by name, as their files say now.
        report_of: given a run, the file of its report, if there is one.
        drafts: what studies by questions are made with; None: none are made here.
        clock: elapsed seconds, by which allowances refill; left out: the event loop's.
        """
        clock = clock or asyncio.get_running_loop().time
        self._settings = settings
        self._tls = tls_of(settings)
        self._say = say
        self._latest = Latest()
        self._watchers = Watchers(self._latest, now)
        self._admission = Admission(
            settings, now=now, clock=clock, sessions_file=sessions_file, say=say
        )
        self._routes = Routes(
            stations,
            {name: geometry_of(machines[name]) for name in stations},
            self._admission,
            self._watchers,
            KeptReports(report_of, clock),
            Drafting(drafts) if drafts else None,
            now=now,
            clock=clock,
            address=settings.address,
        )
        self._followers = [
            Follower(station, self._latest, recent, say, plans, machines.get(name))
            for name, station in stations.items()
        ]

    @property
    def url(self) -> str:
        """How a phone reaches the page."""
        return self._admission.url

    @property
    def needs_pairing(self) -> bool:
        """Whether it listens beyond this computer, so that browsers need a pairing code."""
        return self._admission.needs_pairing

    def pair(self) -> PairingOffer:
        """A fresh pairing code: `.svg()` and `.terminal()` give its QR code.

        Raises DaemonError where no other device could reach the page.
        """
        if not self.needs_pairing:
            raise DaemonError(
                "host.yaml",
                f"the phone page is open to this computer alone, at {self.url}",
                "Give `listen: 0.0.0.0` under `page` to let phones in.",
            )
        return self._admission.pair()

    def forget_phones(self) -> None:
        """Shut every paired browser out. Raises DaemonError when that can't be written down."""
        try:
            self._admission.forget_all()
        except OSError as cause:
            raise DaemonError(
                "the paired phones",
                f"they are shut out only until a restart ({cause.strerror or cause})",
                "Make room where the database is, then ask again.",
            ) from cause

    async def serve(self) -> None:
        """Serve until cancelled. Raises HostctlError when it can't listen there."""
        runner = web.AppRunner(
            self._routes.application(),
            handler_cancellation=True,  # a phone that goes away stops being a watcher at once
            shutdown_timeout=ENDS_WITHIN_S,
        )
        await runner.setup()
        assert runner.server is not None
        connections = Connections(runner.server, self._tls, asyncio.get_running_loop().time)
        listening = None
        try:
            listening = await self._listen(connections)
            async with asyncio.TaskGroup() as group:
                for follower in self._followers:
                    group.create_task(follower.follow(), name="phone page: news")
                group.create_task(self._watchers.look_while_watched(self._refresh))
        finally:
            if listening is not None:
                listening.close()
            self._latest.close()
            await runner.cleanup()
            connections.abort()

    def _refresh(self) -> None:
        for follower in self._followers:
            follower.refresh()

    async def _listen(self, connections: Connections) -> Listener:
        at = self._settings
        try:
            where = await places_of(at.listen, at.port)
            listening = Listener(where, connections.take_in, connections.make_room)
        except OSError as cause:
            raise HostctlError(
                f"phone page at {at.listen}:{at.port}",
                f"can't listen there ({cause.strerror or cause})",
                "Give another `listen` or `port` under `page` in host.yaml.",
            ) from cause
        self._say(f"phone page: {self.url}")
        return listening
