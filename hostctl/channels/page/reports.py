"""Reports that are kept, sent to be opened or kept: pages of their own, shut off from ours.

A report has its script and style in it and may have come from anywhere. So the browser is told to
open it as a stranger's page: it has no cookie, can't read ours or ask for anything of it.
"""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

from aiohttp import web

from hostctl.channels.page.access import guards
from hostctl.channels.page.access.allowance import Allowance
from hostctl.run.record.report import OUTCOME_ENDING

MOST_DIGITS = 10
NONE_KEPT = "no report of that run is kept here"
HEADERS = guards.HEADERS | {
    "Content-Security-Policy": (
        "sandbox allow-scripts allow-popups; default-src 'none'; style-src 'unsafe-inline'; "
        "script-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    ),
    "Cross-Origin-Opener-Policy": "unsafe-none",  # with a sandbox any other is a broken page
}

ReportOf = Callable[[int], Awaitable[Path | None]]
"""Given a run. The file of its newest report; None: there is none."""


async def no_report(run: int) -> Path | None:
    """Where none are kept."""
    return None


class Report(web.FileResponse):
    """A report on its way, with headers of its own."""

    def __init__(self, file: Path, *, keep: bool) -> None:
        super().__init__(file)
        self.content_type, self.charset = "text/html", "utf-8"
        how = "attachment" if keep else "inline"
        self.headers["Content-Disposition"] = f'{how}; filename="{file.name}"'


class KeptReports:
    """Sends them by the runs' numbers; no path that a browser names reaches the disk."""

    def __init__(self, report_of: ReportOf, clock: Callable[[], float]) -> None:
        """`clock`: elapsed seconds."""
        self._report_of = report_of
        self._allowance = Allowance(clock, at_once=10, a_second=1)
        self._in_short = Allowance(clock, at_once=20, a_second=2)

    async def sent(self, run: str, browser: str, *, keep: bool) -> web.StreamResponse:
        """The report of this run. keep: to be kept as a file, not opened."""
        if not self._allowance.take(browser):
            return guards.refusal(429, guards.TOO_MANY)
        file = await self._file(run)
        return Report(file, keep=keep) if file else guards.refusal(404, NONE_KEPT)

    async def in_short(self, run: str, browser: str) -> web.StreamResponse:
        """What the report of this run comes to, as JSON; nothing where it was made without."""
        if not self._in_short.take(browser):
            return guards.refusal(429, guards.TOO_MANY)
        file = await self._file(run)
        if file is None:
            return guards.refusal(404, NONE_KEPT)
        outcome = file.with_suffix(OUTCOME_ENDING)
        if not await asyncio.to_thread(outcome.is_file):
            return web.Response(status=204)
        response = web.FileResponse(outcome)
        response.content_type, response.charset = "application/json", "utf-8"
        return response

    async def _file(self, run: str) -> Path | None:
        return await self._report_of(int(run)) if _is_number(run) else None


def _is_number(run: str) -> bool:
    return run.isascii() and run.isdecimal() and len(run) <= MOST_DIGITS
