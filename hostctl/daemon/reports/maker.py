"""Makes the reports of runs that are over, one after the other, each in a process of its own.

The daemon itself computes nothing: no library of statistics is ever loaded in it. A report that
can't be made is told of, and stops nothing.
"""

import asyncio
import json
import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.daemon.reports.child import Ended, run_beside
from hostctl.daemon.reports.folder import Folder
from hostctl.errors import HostctlError, StoreError
from hostctl.run.record.report import OUTCOME_ENDING, ReportStanding, RunReport
from hostctl.run.station import Station
from hostctl.store.rows import REPORT_MADE, NewEvent, RunSummary
from hostctl.store.store import Store

WITHIN_S = 1800.0  # a million readings on a small computer, with time to spare
LONGEST_TOLD = 2000  # signs of an answer, or of why there is none

Command = Callable[[int, Path, Path], list[str]]
"""From a run, the file to be written and the database to the words of a command.

It writes the file, and beside it what it comes to in short, and ends with 0; on standard output it
says the file's name, then the answer in one line. Where it can't, the last line on standard error
says why.
"""


def report_command(run: int, file: Path, database: Path) -> list[str]:
    """Our own command line, in a process of its own."""
    own = [sys.executable, "-P", "-m", "hostctl"]
    outcome = file.with_suffix(OUTCOME_ENDING)
    words = ["report", str(run), "-o", str(file), "--outcome", str(outcome)]
    return [*own, *words, "--database", str(database)]


class Reports:
    """Of all machines of the daemon."""

    def __init__(
        self,
        stations: Mapping[str, Station],
        store: Store,
        log: EventLog,
        *,
        now: Callable[[], datetime],
        command: Command = report_command,
        within_s: float = WITHIN_S,
    ) -> None:
        self._stations = stations
        self._store = store
        self._log = log
        self._now = now
        self._command = command
        self._within_s = within_s
        self._folder = Folder(store.path)
        self._wanted: asyncio.Queue[tuple[Station, RunReport]] = asyncio.Queue()
        for station in stations.values():
            station.on_report_wanted.add(partial(self._want, station))

    async def serve(self) -> None:
        """Until cancelled; what is being made then is not made."""
        while True:
            await self._make(*await self._wanted.get())

    async def offer_again(self, runs: list[RunSummary]) -> None:
        """After a start: how it stands with the report of each machine's last run."""
        last = {one.new.machine: one for one in runs}
        for name, station in self._stations.items():
            run = last.get(name)
            if run is not None and run.readings > run.void:
                station.offer_report(await self._on_record(run))

    async def file(self, run: int) -> Path | None:
        """The newest report of this run; None: there is none that can be read."""
        with suppress(OSError):
            return await asyncio.to_thread(self._folder.newest, run)
        return None

    async def _on_record(self, run: RunSummary) -> RunReport:
        report = RunReport(run=run.run, study=run.new.study, complete=run.complete)
        kept, newest = await self._store.last_report(run.run), await self.file(run.run)
        if kept is None or newest is None or newest.name != kept.file_name:
            return report
        made = replace(report, standing=ReportStanding.MADE)
        return replace(made, file_name=kept.file_name, answer=kept.answer)

    def _want(self, station: Station, report: RunReport) -> None:
        self._wanted.put_nowait((station, report))

    async def _make(self, station: Station, report: RunReport) -> None:
        told = _failed(report, "making it was broken off")
        try:
            told = await self._made(station, report)
        except TimeoutError:
            told = _failed(report, f"it took longer than {self._within_s / 60:.0f} minutes")
        except (HostctlError, OSError) as why:
            told = _failed(report, str(why))
        finally:
            self._say(station, told)
            station.tell_report(told)

    async def _made(self, station: Station, report: RunReport) -> RunReport:
        file = await asyncio.to_thread(self._folder.begin, report.study, station.name, report.run)
        try:
            argv = self._command(report.run, file, self._store.path)
            ended = await run_beside(argv, within_s=self._within_s)
            if ended.exit_code != 0 or not file.is_file():
                return _failed(report, _why(ended))
            await asyncio.to_thread(self._folder.keep, file)
        finally:
            await asyncio.to_thread(self._folder.clear, file)
        made = replace(report, standing=ReportStanding.MADE, file_name=file.name)
        made = replace(made, answer=_readable("".join(ended.said[1:2])))
        await self._note(made)
        return made

    async def _note(self, made: RunReport) -> None:
        """So that it is known after a restart. A full disk keeps nobody from reading it now."""
        data = json.dumps({"file_name": made.file_name})
        event = NewEvent(
            run=made.run, at=self._now(), kind=REPORT_MADE, text=made.answer, data=data
        )
        with suppress(StoreError):
            await self._store.add_event(event)

    def _say(self, station: Station, told: RunReport) -> None:
        level = Level.INFO if told.standing is ReportStanding.MADE else Level.WARNING
        event = "report" if told.standing is ReportStanding.MADE else "no-report"
        pairs = {"run": told.run, "file": told.file_name, "why": told.why}
        self._log.say(event, level, machine=station.name, **pairs)


def _why(ended: Ended) -> str:
    if ended.complained:
        return ended.complained[-1]
    return f"the program that makes it ended with code {ended.exit_code} and said nothing"


def _failed(report: RunReport, why: str) -> RunReport:
    return replace(report, standing=ReportStanding.FAILED, why=_readable(why))


def _readable(text: str) -> str:
    """One line, without what no screen shows, and no longer than anybody reads."""
    shown = "".join(sign if sign.isprintable() else " " for sign in text)
    return shown if len(shown) <= LONGEST_TOLD else f"{shown[:LONGEST_TOLD]}…"
