"""Reports as the page's server sends them: to whom, by what name, how shut off."""

import asyncio
from pathlib import Path

import pytest
from browser_client import browser_at
from page_bench import served

from hostctl.channels.page.reports import ReportOf
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.station import Station

NAME = "three-methods-on-sim-220-run-3.html"
TEXT = "<!doctype html><title>Report</title><p>±0.03 mm"
POLICY_OF_A_STRANGER = (
    "sandbox allow-scripts allow-popups; default-src 'none'; style-src 'unsafe-inline'; "
    "script-src 'unsafe-inline'; img-src data:;"
)
BOTH = ["/reports/3", "/reports/3/keep"]


@pytest.fixture
def report_of(tmp_path: Path) -> ReportOf:
    """Of run 3 there is one, of no other."""
    file = tmp_path / NAME
    file.write_text(TEXT)

    async def found(run: int) -> Path | None:
        return file if run == 3 else None

    return found


@pytest.mark.parametrize(("path", "how"), [(BOTH[0], "inline"), (BOTH[1], "attachment")])
async def test_a_paired_phone_gets_the_report_by_its_name(report_of, path: str, how: str):
    async with (
        served(listen="0.0.0.0", report_of=report_of) as bench,
        browser_at(bench.url) as browser,
    ):
        code = bench.server.pair().code
        assert (await browser.post("/pair", {"code": code}))[0] == 200
        reply = await browser.get(path)
        assert (reply.status, await reply.text()) == (200, TEXT)
        assert reply.headers["Content-Type"] == "text/html; charset=utf-8"
        assert reply.headers["Content-Disposition"] == f'{how}; filename="{NAME}"'


@pytest.mark.parametrize("path", BOTH)
async def test_an_unpaired_phone_gets_none(report_of, path: str):
    async with (
        served(listen="0.0.0.0", report_of=report_of) as bench,
        browser_at(bench.url) as browser,
    ):
        reply = await browser.get(path)
        assert reply.status == 401
        assert TEXT not in await reply.text()


@pytest.mark.parametrize("path", BOTH)
async def test_it_is_sent_as_a_strangers_page_and_kept_by_no_browser(report_of, path: str):
    async with served(report_of=report_of) as bench, browser_at(bench.url) as browser:
        await browser.enter()
        headers = (await browser.get(path)).headers
        assert headers["Content-Security-Policy"].startswith(POLICY_OF_A_STRANGER)
        assert "allow-same-origin" not in headers["Content-Security-Policy"]
        assert headers["Cross-Origin-Opener-Policy"] == "unsafe-none"
        assert (headers["Cache-Control"], headers["Server"]) == ("no-store", "hostctl")
        assert headers["X-Content-Type-Options"] == "nosniff"
        refused = (await browser.get("/reports/4")).headers
        assert refused["Content-Security-Policy"].startswith(
            "default-src 'none'; script-src 'self'"
        )


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
async def test_another_site_gets_none(report_of, site: str):
    async with served(report_of=report_of) as bench, browser_at(bench.url) as browser:
        await browser.enter()
        browser.headers = {"Sec-Fetch-Site": site}
        assert (await browser.get("/reports/3")).status == 401


@pytest.mark.parametrize(
    "run",
    [
        *("4", "0", "-3", "+3", "3.0", " 3", "3%20", "٣", "%C2%B3", "9" * 11, "x", "3.html"),
        *("..%2f3", "..%2f..%2fetc%2fpasswd", NAME, f"%2e%2f{NAME}", "3/..", "3/other", ""),
    ],
)
async def test_nothing_but_a_runs_number_names_a_report(report_of, run: str):
    async with served(report_of=report_of) as bench, browser_at(bench.url) as browser:
        await browser.enter()
        reply = await browser.get(f"/reports/{run}")
        assert reply.status == 404
        assert TEXT not in await reply.text()


async def test_one_that_was_taken_away_meanwhile_is_not_found(tmp_path: Path):
    async def gone(run: int) -> Path | None:
        return tmp_path / NAME

    async with served(report_of=gone) as bench, browser_at(bench.url) as browser:
        await browser.enter()
        assert (await browser.get("/reports/3")).status == 404


async def test_who_asks_for_them_without_end_is_told_to_wait(report_of):
    async with (
        served(report_of=report_of, clock=lambda: 0.0) as bench,
        browser_at(bench.url) as browser,
    ):
        await browser.enter()
        replies = [(await browser.get("/reports/3")).status for _ in range(11)]
        assert replies == [*[200] * 10, 429]
        assert (await browser.post("/halt", {"machine": "sim-220"}))[0] == 200


# ------------------------------------------------------------------ asked for


def ended_early(station: Station) -> list[RunReport]:
    """Offers a report of run 3; gives those that are wanted, as they are asked for."""
    wanted: list[RunReport] = []
    station.on_report_wanted.add(wanted.append)
    station.offer_report(RunReport(run=3, study="three-methods", complete=False))
    return wanted


async def test_a_report_is_asked_for_once():
    async with served() as bench, browser_at(bench.url) as browser:
        await browser.enter()
        wanted = ended_early(bench.station)
        asked = {"machine": "sim-220", "run": 3}
        assert await browser.post("/report", asked) == (200, "")
        assert await browser.post("/report", asked) == (409, "the report is being made")
        assert [(one.run, one.standing) for one in wanted] == [(3, ReportStanding.BEING_MADE)]


@pytest.mark.parametrize(
    ("run", "refused"),
    [
        (2, (409, "run 2 is not the last one here, or it goes on")),
        *[(odd, (400, "give the number of a run")) for odd in (None, True, "3", 3.0, 0, -3, [])],
    ],
)
async def test_what_names_no_run_that_could_be_reported_on_is_refused(run, refused):
    async with served() as bench, browser_at(bench.url) as browser:
        await browser.enter()
        wanted = ended_early(bench.station)
        assert await browser.post("/report", {"machine": "sim-220", "run": run}) == refused
        assert wanted == []


async def test_a_page_that_does_not_know_the_token_asks_for_none():
    async with served() as bench, browser_at(bench.url) as browser:
        await browser.enter()
        wanted = ended_early(bench.station)
        browser.token = "made-up"
        assert (await browser.post("/report", {"machine": "sim-220", "run": 3}))[0] == 401
        await asyncio.sleep(0)
        assert wanted == []
