"""The daemon put together: store, stations, their attendants and channels, the local socket.

Two task groups, one in the other. The inner one holds the attendants: at an orderly stop it ends
first, and each run under way makes its machine safe while every channel still tells of it.
"""

import asyncio
import logging
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path

from hostctl.channels.handles import raise_limit
from hostctl.config.directory import Directory, read_directory
from hostctl.daemon.assembly.requested import Requested, offer
from hostctl.daemon.attending.attendant import Attendant
from hostctl.daemon.in_use import InUse, reload_when_told, status_line
from hostctl.daemon.log.event_log import EventLog, Level, LibraryWarnings
from hostctl.daemon.log.fault_log import logged_faults_kept, spare_a_handle
from hostctl.daemon.log.news_log import NewsLog
from hostctl.daemon.notify import Notify, keep_alive
from hostctl.daemon.people import channels_at
from hostctl.daemon.remote import Remote, Serve
from hostctl.daemon.reports.maker import Command, Reports, report_command
from hostctl.daemon.restarting import kept_going
from hostctl.daemon.socket.asked import Asked
from hostctl.daemon.socket.changes import Changes
from hostctl.daemon.socket.local_socket import LocalSocket, listening_at
from hostctl.daemon.socket.socket_path import place_to_listen
from hostctl.run.arming.room_code import ShownCode
from hostctl.run.station import Station
from hostctl.store.file.location import database_path
from hostctl.store.file.recorder import recorded_elsewhere, recording
from hostctl.store.store import Store, utc_now

LAST_WORDS_S = 0.5
"""How long channels may tell of the end, once all machines are safe."""
FEW_HANDLES = 256
HANDLES_HINT = "few phones can be served; raise the limit of open files (ulimit -n, LimitNOFILE)"


def serve(path: Path, report: Command = report_command) -> None:
    """Serve the directory at `path` until told to stop. Raises HostctlError if it can't begin.

    report: what makes a run's report.
    """
    directory = read_directory(path)
    log = EventLog(sys.stderr.fileno(), utc_now, journal="JOURNAL_STREAM" in os.environ)
    logging.getLogger().addHandler(LibraryWarnings(log))
    if (handles := raise_limit()) < FEW_HANDLES:
        log.say("few-handles", Level.WARNING, limit=handles, text=HANDLES_HINT)
    spare_a_handle()
    with logged_faults_kept(partial(_told_fault, log)):
        asyncio.run(_serve(directory, log, report))


def _told_fault(log: EventLog, line: str) -> None:
    log.say("failed", Level.FAULT, what="observer", why=line)


async def _serve(directory: Directory, log: EventLog, report: Command) -> None:
    host = directory.host
    database = Path(host.database) if host.database else database_path()
    socket_path = Path(host.socket) if host.socket else place_to_listen(os.environ)
    with listening_at(socket_path) as listener, ExitStack() as recorded:
        async with Store.opened(database) as store:
            for shared_with in recorded_elsewhere(database):
                log.say("database-shared", Level.WARNING, also_recording=shared_with)
            for name in directory.machines:
                recorded.enter_context(recording(database, name))
            service = Service(directory, store, log, report)
            await service.prepare()
            said = partial(log.say, "turned-away", Level.WARNING)
            local = LocalSocket(listener, service.asked, lambda why: said(why=why))
            log.say("serving", config=directory.path, database=database, socket=socket_path)
            await service.serve({"local socket": local.serve})
            log.say("stopped")


class Service:
    """All that one daemon process keeps going."""

    def __init__(self, directory: Directory, store: Store, log: EventLog, report: Command) -> None:
        self._store = store
        self._log = log
        self._notify = Notify()
        self._changes = Changes()
        self._in_use = InUse(directory, log)
        self._requested = Requested(lambda: self._in_use.directory, store)
        self._stations = {name: self._station(name, directory) for name in directory.machines}
        self._attendants = {
            name: self._attendant(station, directory) for name, station in self._stations.items()
        }
        self._reports = Reports(self._stations, store, log, now=utc_now, command=report)
        self._remote = Remote(self._stations, store, log, utc_now, self._in_use, self._reports.file)
        self._ways: dict[str, Serve] = {}
        self.asked = Asked(
            self._stations,
            self._requested,
            log,
            changes=self._changes,
            phones=self._remote,
            has_terminal=sys.stderr.isatty,
        )

    async def prepare(self) -> None:
        """Find what may still be wrong before all is called ready. Raises HostctlError."""
        runs = await self._store.runs()
        directory = self._in_use.directory
        for name, station in self._stations.items():
            station.on_change.add(self._changed)
            station.notice = offer(runs, name)
            if station.notice:
                self._log.say("resumable", machine=name, text=station.notice)
            port = directory.machines[name].checked.port
            for channel in channels_at(station, port, directory.host, now=utc_now, log=self._log):
                self._ways[f"{channel.name} at {name}"] = partial(channel.serve, station.desk)
            follow = NewsLog(self._log, name).follow
            self._ways[f"news of {name}"] = partial(follow, station.desk, self._changed)
        await self._reports.offer_again(runs)
        self._ways["reports"] = self._reports.serve
        self._ways |= await self._remote.ways(directory)

    async def serve(self, more: dict[str, Serve]) -> None:
        """Until SIGTERM or an interrupt; everything is safe then."""
        stop, again = asyncio.Event(), asyncio.Event()
        self._ways |= more
        self._ways["watchdog"] = partial(keep_alive, self._notify, self._store.answers)
        self._ways["reload"] = partial(
            reload_when_told, again, self._in_use, self._attendants, self._notify
        )
        with _signals(stop, again):
            async with asyncio.TaskGroup() as outer:
                serving = [
                    outer.create_task(kept_going(name, way, self._log), name=name)
                    for name, way in self._ways.items()
                ]
                await self._attend(stop)
                await asyncio.sleep(LAST_WORDS_S)
                for task in serving:
                    task.cancel()

    async def _attend(self, stop: asyncio.Event) -> None:
        """Look after all machines until told to stop; then see each one safe."""
        async with asyncio.TaskGroup() as inner:
            attending = [
                inner.create_task(
                    kept_going(name, attendant.serve, self._log, attendant.failed), name=name
                )
                for name, attendant in self._attendants.items()
            ]
            self._notify.ready()
            self._log.say("ready", machines=len(attending))
            await stop.wait()
            self._notify.stopping()
            self._log.say("stopping")
            for task in attending:
                task.cancel()

    def _station(self, name: str, directory: Directory) -> Station:
        return Station(
            name,
            now=utc_now,
            studies=lambda: self._in_use.studies_for(name),
            arm_for_s=directory.host.arm_for_s,
        )

    def _attendant(self, station: Station, directory: Directory) -> Attendant:
        return Attendant(
            station,
            directory.machines[station.name],
            requested=self._requested,
            store=self._store,
            log=self._log,
            now=utc_now,
            show_code=_on_own_screen,
        )

    def _changed(self) -> None:
        self._changes.ring()
        self._notify.status(status_line(self._stations))


def _on_own_screen(machine: str, shown: ShownCode) -> None:
    """Only to a terminal: a log can be read from afar."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\n  Room code of {machine}: {shown.code}\n\n")


@contextmanager
def _signals(stop: asyncio.Event, again: asyncio.Event) -> Iterator[None]:
    """A hang-up says: read the files again. Of a terminal that was closed it says: stop.

    Or else a daemon that nobody sees any more would go on holding the machines.
    """
    on_a_terminal = sys.stderr.isatty()

    def hung_up() -> None:
        (stop if on_a_terminal and not sys.stderr.isatty() else again).set()

    acts = {signal.SIGTERM: stop.set, signal.SIGINT: stop.set, signal.SIGHUP: hung_up}
    loop = asyncio.get_running_loop()
    for number, act in acts.items():
        loop.add_signal_handler(number, act)
    try:
        yield
    finally:
        for number in acts:
            loop.remove_signal_handler(number)
