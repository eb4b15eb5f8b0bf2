"""What came out of a run, and a study by questions, in the real Chromium: seen, used, heard."""

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from chromium import Chromium, Phone
from page_bench import ROOT, Bench, served
from test_browser import CONTRASTS, DESK, PHONE, SMALL, opened
from test_drafting import Shelf
from test_report_in_browser import MADE, NAME

from hostctl.channels.view.data import Json
from hostctl.run.record.report import OUTCOME_ENDING

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AXE = (ROOT / "tests/data/axe_core/axe.min.js").read_text()
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
HEAPS = [(-0.03, 3), (-0.02, 4), (-0.01, 6), (0.0, 4), (0.01, 2), (0.07, 1)]
PLAIN_SIGHT = """(() => {
  const box = (e) => e.getBoundingClientRect();
  const boxes = (what) => [...document.querySelectorAll(what)].map(box);
  const [dots, words] = [boxes('#outcome .dot'), boxes('#outcome text')];
  const apart = (a, b) => Math.hypot(a.x - b.x, a.y - b.y) >= a.width * 0.7;
  const meet = (a, b) => a.x < b.right && b.x < a.right && a.y + 4 < b.bottom && b.y + 4 < a.bottom;
  return {
    dots: dots.length,
    least: Math.min(...dots.map((b) => b.width)),
    apart: dots.every((a, i) => dots.slice(i + 1).every((b) => apart(a, b))),
    words: words.filter((a, i) => words.slice(i + 1).some((b) => meet(a, b))).length,
    within: [...dots, ...words].every((b) => b.left >= 0 && b.right <= innerWidth),
  };
})()"""


def two_by_two() -> Json:
    """Two methods in two pairs of hands, twenty settings each, one of them outside."""
    dots = [
        {"value_mm": mm, "count": count, "outside": mm > 0.05, "doubted": False}
        for mm, count in HEAPS
    ]
    rows = [
        {
            "head": method if who == "volunteer-a" else "",
            "label": who,
            "note": "19 of 20 within: cannot tell (+26)",
            "about_mm": 0.0,
            "dots": dots,
            "mean": None,
        }
        for method in ("feeler-gauge", "paper-slip")
        for who in ("volunteer-a", "volunteer-b")
    ]
    drawn = {"kind": "dots", "says": "4 of 80 lie outside.", "rows": rows}
    return {
        "version": 1,
        "title": "Simulated · three-methods on sim-220",
        "question": "Which of feeler-gauge or paper-slip repeats a setting?",
        "answer": ["Neither can be told yet.", "It says nothing about the true gap."],
        "drawn": drawn | {"step_mm": 0.01, "within_mm": 0.05, "counted_from": "its own average"},
        "cautions": ["<b>Simulated</b>: what was read is invented.", "Read to 0.01 mm."],
        "next_steps": ["Next: carry the study out again."],
    }


@asynccontextmanager
async def after_a_run(
    chromium: Chromium, folder: Path, **size: object
) -> AsyncIterator[tuple[Bench, Phone]]:
    file = folder / NAME
    file.write_text("<!doctype html>")
    file.with_suffix(OUTCOME_ENDING).write_text(json.dumps(two_by_two()))

    async def report_of(run: int) -> Path | None:
        return file

    async with served(report_of=report_of) as bench, chromium.phones() as phones:
        bench.begin()
        bench.finish()
        bench.station.offer_report(MADE)
        yield bench, await opened(phones, bench.url, **size)


async def faults(phone: Phone) -> list[str]:
    """What axe-core finds (tests/data/axe_core)."""
    await phone.do("Page.setBypassCSP", enabled=True)
    await phone.look(f"{AXE}; void 0")
    told = await phone.look(
        "axe.run().then((r) => r.violations.map((v) => [v.id, ...v.nodes.map((n) => n.html)]))"
    )
    return [json.dumps(one) for one in told] if isinstance(told, list) else [str(told)]


@pytest.mark.parametrize(("size", "dark"), [(SMALL, False), (PHONE, True), (DESK, False)])
async def test_at_the_end_of_a_run_it_is_seen_what_came_out(
    chromium: Chromium, tmp_path: Path, size: dict[str, int], dark: bool
):
    async with after_a_run(chromium, tmp_path, dark=dark, **size) as (bench, phone):
        await phone.shows("Next: carry the study out again.")
        assert (await phone.text_of("#outcome-of")).startswith("Simulated")
        seen = await phone.look(PLAIN_SIGHT)
        assert isinstance(seen, dict)
        # a disc of 3 px is seen, and told from its neighbour: own judgement, no source
        assert seen.pop("least") >= 3
        assert seen == {"dots": 80, "apart": True, "words": 0, "within": True}
        assert await phone.look(WIDER) == 0
        assert "Neither can be told yet." in await phone.text_of("#outcome-answer")
        assert await phone.text_of("#report-says") == ""
        drawn = await phone.look("document.querySelector('.rows').getAttribute('aria-label')")
        assert "paper-slip, volunteer-a: 19 of 20 within" in str(drawn)
        assert "+0.070 outside" in str(drawn)
        await phone.look("document.querySelector('#outcome summary').focus()")
        await phone.key("Enter")
        await phone.shows("<b>Simulated</b>: what was read is invented.")
        low = await phone.look(CONTRASTS.replace("label, button", "li, summary, a, button"))
        assert isinstance(low, list)
        assert [one for one in low if one[0] < 6.5] == []
        assert phone.complaints() == []
        assert await faults(phone) == []
        bench.begin()
        await phone.until("document.getElementById('outcome').offsetParent === null")


@pytest.mark.parametrize(("size", "dark"), [(SMALL, True), (DESK, False)])
async def test_a_study_is_made_by_questions_with_keys_alone_and_one_can_go_back(
    chromium: Chromium, size: dict[str, int], dark: bool
):
    shelf = Shelf()
    async with served(drafts=shelf.bench()) as bench, chromium.phones() as phones:
        phone = await opened(phones, bench.url, dark=dark, **size)
        await phone.press("#draft-begin")
        await press_way(phone, "What is to be judged?", "spread")
        await press_way(phone, "Which way of setting", "paper-slip")
        await phone.shows("Question 3")
        await phone.reload()  # what was answered is still there
        await phone.press("#draft-begin")
        await phone.shows("Question 3")
        await phone.press("#draft-back")
        await press_way(phone, "Which way of setting", "contact-light")
        await press_way(phone, "Which other way?", "none")
        await typed(phone, "Whose hands", "Volunteer A!")
        await phone.shows("is no name for a record")
        assert await faults(phone) == []
        await typed(phone, "Whose hands", "volunteer-c")
        assert await phone.look(WIDER) == 0
        for asks in ("At which points", "one graduation", "How far off", "How many trials"):
            await confirmed(phone, asks)
        await typed(phone, "What is the study called?", "The light, alone")
        await confirmed(phone, "By which short name")
        await phone.shows("This is what the study will be")
        assert await phone.look(WIDER) == 0
        assert await faults(phone) == []
        await phone.press_labelled("KEEP THE STUDY")
        await phone.shows("It is kept")
        assert [*shelf.kept] == ["the-light-alone"]
        assert "volunteer-c" in shelf.kept["the-light-alone"]
        assert await phone.look("localStorage.length") == 0
        assert phone.complaints() == []


async def press_way(phone: Phone, asks: str, word: str) -> None:
    await phone.shows(asks)
    all_ways = "[...document.querySelectorAll('.ways button')]"
    here = f"{all_ways}.find((b) => b.innerText.startsWith({word!r}))"
    await phone.until(f"!!{here} && !{here}.disabled")
    await phone.look(f"{here}.focus()")
    await phone.key("Enter")


async def typed(phone: Phone, asks: str, text: str) -> None:
    await phone.shows(asks)
    await phone.until("document.getElementById('draft-typed')?.disabled === false")
    await phone.look("document.getElementById('draft-typed').select()")
    await phone.type(text)
    await phone.key("Enter")


async def confirmed(phone: Phone, asks: str) -> None:
    """What is suggested will do."""
    await phone.shows(asks)
    await phone.press("#draft form .done")
