"""The report of the last run on the phone page, in the real Chromium: told, opened, kept, asked."""

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from chromium import PATIENCE_S, Chromium, Phone
from page_bench import Bench, served
from test_browser import CONTRASTS, DESK, LITTLE, PHONE, SMALL, SMALL_ON_ITS_SIDE, opened

from hostctl.run.record.report import ReportStanding, RunReport

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NAME = "three-methods-on-sim-220-run-3.html"
ANSWER = (
    "The contact light is good enough for a first layer: at least 95 % of settings lie within "
    "±0.05 mm of their own mean; of the paper slip that can't be told yet."
)
MADE = RunReport(
    run=3,
    study="three-methods",
    complete=True,
    standing=ReportStanding.MADE,
    file_name=NAME,
    answer=ANSWER,
)
EARLY = RunReport(run=3, study="three-methods", complete=False)
STANDINGS = {
    "made": MADE,
    "early": EARLY,
    "being made": replace(EARLY, standing=ReportStanding.BEING_MADE),
    "failed": replace(EARLY, standing=ReportStanding.FAILED, why="the disk is full"),
}
REACHES_OUT = """<!doctype html><title>A report</title><style>p { color: green }</style><p>Text
<script>
const tried = {};
async function all() {
  const acts = {
    cookie: () => document.cookie,
    kept: () => localStorage.length,
    live: async () => (await fetch("/live")).status,
    halt: async () => (await fetch("/halt", { method: "POST", body: "{}" })).status,
    image: () => new Promise((seen, unseen) => {
      const image = new Image();
      image.onload = seen;
      image.onerror = unseen;
      image.src = "/assets/icon.svg";
    }),
    parent: () => opener.document.title,
  };
  for (const [name, act] of Object.entries(acts)) {
    try { tried[name] = String(await act()); } catch { tried[name] = "refused"; }
  }
  document.title = "tried";
}
all();
</script>"""


@asynccontextmanager
async def a_phone(
    chromium: Chromium, folder: Path, text: str = "", **size: object
) -> AsyncIterator[tuple[Bench, Phone]]:
    """A run is over, and its report lies in the folder."""
    file = folder / NAME
    file.write_text(text)

    async def report_of(run: int) -> Path | None:
        return file if run == 3 else None

    async with served(report_of=report_of) as bench, chromium.phones() as phones:
        bench.begin()
        bench.station.notice = "Run 3 is complete: hostctl show 3"
        bench.finish()
        yield bench, await opened(phones, bench.url, **size)


async def report_tab(phone: Phone) -> Phone:
    """The tab with a report in it, once it is there."""
    async with asyncio.timeout(PATIENCE_S):
        while not (found := await reports_open(phone)):  # noqa: ASYNC110 - a tab opens
            await asyncio.sleep(0.03)
    attached = await phone.talk.do("Target.attachToTarget", targetId=found[0], flatten=True)
    return Phone(phone.talk, attached["sessionId"])


async def reports_open(phone: Phone) -> list[str]:
    targets = (await phone.talk.do("Target.getTargets"))["targetInfos"]
    return [one["targetId"] for one in targets if "/reports/" in one["url"]]


async def test_what_was_found_is_told_and_the_way_to_the_report(chromium: Chromium, tmp_path: Path):
    async with a_phone(chromium, tmp_path) as (bench, phone):
        assert not await phone.look("document.getElementById('report').offsetParent")
        bench.station.offer_report(MADE)
        await phone.shows(ANSWER)
        await phone.shows("Report of run 3: three-methods")
        links = await phone.look(
            "[...document.querySelectorAll('#report a')].map((a) => [a.innerText, a.pathname])"
        )
        assert links == [["Open the report", "/reports/3"], ["Keep it", "/reports/3/keep"]]
        bench.begin()
        await phone.until("document.getElementById('report').offsetParent === null")
        assert phone.complaints() == []


async def test_it_opens_in_a_tab_of_its_own_from_where_nothing_of_the_page_is_reached(
    chromium: Chromium, tmp_path: Path
):
    async with a_phone(chromium, tmp_path, REACHES_OUT) as (bench, phone):
        bench.station.offer_report(MADE)
        await phone.press("#report-open")
        report = await report_tab(phone)
        await report.until("document.title === 'tried'")
        tried = await report.look("tried")
        assert isinstance(tried, dict)
        assert tried == dict.fromkeys(tried, "refused")
        assert len(tried) == 6
        assert await report.look("getComputedStyle(document.querySelector('p')).color") == (
            "rgb(0, 128, 0)"
        )
        assert await report.look("self.origin") == "null"
        assert bench.halted == []
        assert await phone.look("location.pathname") == "/"


async def test_it_is_kept_as_a_file_of_its_name(chromium: Chromium, tmp_path: Path):
    kept = tmp_path / "kept"
    kept.mkdir()
    async with a_phone(chromium, tmp_path, "<!doctype html><p>Text") as (bench, phone):
        context = (await phone.talk.do("Target.getTargets"))["targetInfos"]
        (ours,) = {one["browserContextId"] for one in context if bench.url in one["url"]}
        await phone.talk.do(
            "Browser.setDownloadBehavior",
            behavior="allow",
            browserContextId=ours,
            downloadPath=str(kept),
        )
        bench.station.offer_report(MADE)
        await phone.press("#report-keep")
        async with asyncio.timeout(PATIENCE_S):
            while not (kept / NAME).exists():  # noqa: ASYNC110 - the browser writes it
                await asyncio.sleep(0.03)
        assert (kept / NAME).read_text() == "<!doctype html><p>Text"
        assert await phone.look("location.pathname") == "/"


async def test_of_a_run_that_ended_early_it_says_what_a_report_costs_before_one_is_asked_for(
    chromium: Chromium, tmp_path: Path
):
    async with a_phone(chromium, tmp_path) as (bench, phone):
        wanted: list[RunReport] = []
        bench.station.on_report_wanted.add(wanted.append)
        bench.station.offer_report(EARLY)
        await phone.shows("it spends some of the risk of a wrong one")
        await phone.press_labelled("Make a report of what was read so far")
        await phone.shows("It is being made.")
        assert [one.run for one in wanted] == [3]
        bench.station.tell_report(replace(wanted[0], standing=ReportStanding.FAILED, why="no room"))
        await phone.shows("It could not be made. No room.")
        await phone.press_labelled("Try again")
        await phone.shows("It is being made.")
        bench.station.tell_report(replace(MADE, complete=False))
        await phone.shows(ANSWER)
        assert len(wanted) == 2


async def test_words_of_others_stay_words(chromium: Chromium, tmp_path: Path):
    odd = "<img src=x onerror=\"document.title='ran'\"> & <b>bold</b>"
    async with a_phone(chromium, tmp_path) as (bench, phone):
        bench.station.offer_report(replace(MADE, answer=odd, study=odd))
        await phone.shows(odd)
        assert await phone.look("document.querySelectorAll('#report img, #report b').length") == 0
        assert await phone.look("document.title") != "ran"


@pytest.mark.parametrize("standing", STANDINGS)
@pytest.mark.parametrize("dark", [False, True])
async def test_it_stands_out_in_dark_and_light(
    chromium: Chromium, tmp_path: Path, standing: str, dark: bool
):
    # WCAG 2.2, success criterion 1.4.6 (enhanced): 7:1, large or bold text 4.5:1; from memory.
    async with a_phone(chromium, tmp_path, dark=dark) as (bench, phone):
        bench.station.offer_report(STANDINGS[standing])
        await phone.shows("Report of run 3")
        told = await phone.look(CONTRASTS.replace("label, button", "label, a, button"))
        assert isinstance(told, list)
        assert {"report-title", "report-says"} <= {one[1] for one in told}
        assert [one for one in told if one[0] < 6.5] == []


@pytest.mark.parametrize("size", [PHONE, LITTLE, SMALL, SMALL_ON_ITS_SIDE, DESK])
@pytest.mark.parametrize("standing", ["made", "early"])
async def test_it_fits_and_is_large_enough_for_thumbs(
    chromium: Chromium, tmp_path: Path, size: dict[str, int], standing: str
):
    # WCAG 2.2, success criterion 2.5.5 (enhanced): targets of at least 44 by 44; from memory.
    async with a_phone(chromium, tmp_path, **size) as (bench, phone):
        report = replace(STANDINGS[standing], study="a" * 80)
        bench.station.offer_report(report)
        await phone.shows("Report of run 3")
        small = await phone.look(
            "[...document.querySelectorAll('#report a, #report button')]"
            ".filter((e) => e.offsetParent).map((e) => [e.id, e.getBoundingClientRect()])"
            ".filter(([, b]) => b.width < 48 || b.height < 48).map(([id]) => id)"
        )
        assert small == []
        wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert await phone.look(wider) == 0


async def test_a_screen_reader_is_told_when_it_is_made_and_finds_its_name(
    chromium: Chromium, tmp_path: Path
):
    async with a_phone(chromium, tmp_path) as (bench, phone):
        bench.station.offer_report(MADE)
        await phone.shows(ANSWER)
        nodes = (await phone.do("Accessibility.getFullAXTree"))["nodes"]
        named = {(one["role"]["value"], one.get("name", {}).get("value", "")) for one in nodes}
        assert ("region", "Report of run 3: three-methods") in named
        assert ("link", "Open the report") in named
        assert ("link", "Keep it") in named
        assert any(one["role"]["value"] == "status" for one in nodes)
        assert json.dumps(ANSWER) in json.dumps(sorted(named))
