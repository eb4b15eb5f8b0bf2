"""A report's page in the real Chromium: read on a phone, a screen and paper, by eye and by ear."""

import base64
import csv
import json
from hashlib import sha256
from pathlib import Path

import pytest
from chromium import Chromium, Phone, Phones
from laid_out import PAGES, drawn, many, page_of, with_history

from hostctl.report.html_file.every_reading import every_reading

pytestmark = [pytest.mark.browser, pytest.mark.slow]

AXE = Path(__file__).parents[2] / "data/axe_core/axe.min.js"
LOOKS_FOR = Path(__file__).with_name("looks.js")
LOOKS = [(390, True), (1280, False)]  # px wide, dark
LARGE = ("100 readings of 2 methods", "8 methods, hostile and long names")
A4, LETTER = (8.27, 11.69), (8.5, 11.0)  # inches
NARROWER_THAN_PAPER_PX, LOWER_THAN_PAPER_PX = 660, 900  # of Letter and A4, less the margins


def written(tmp_path: Path, page: str) -> str:
    """Its address, as of a file opened from a stick."""
    (tmp_path / "report.html").write_text(page)
    return (tmp_path / "report.html").as_uri()


async def opened(phones: Phones, url: str, **size: object) -> Phone:
    """A page that what the tests look for is known to."""
    phone = await phones.open(url, **size)
    await phone.look(f"{LOOKS_FOR.read_text()}\n;null")
    return phone


def asked_of_the_network(phone: Phone) -> list[str]:
    sent = [one["params"]["request"]["url"] for one in phone.talk.events if is_request(one)]
    return [url for url in sent if not url.startswith("file://")]


def is_request(event: dict) -> bool:
    return event["method"] == "Network.requestWillBeSent"


@pytest.mark.timeout(300)
@pytest.mark.parametrize("name", [*PAGES, "10,000 readings"])
async def test_a_report_is_read_by_everybody_on_a_phone_a_screen_and_paper(
    chromium: Chromium, tmp_path: Path, name: str
):
    page = PAGES[name]() if name in PAGES else page_of(many(10_000))
    url = written(tmp_path, page)
    async with chromium.phones() as phones:
        for wide, dark in LOOKS:
            phone = await opened(phones, url, wide=wide, high=844, dark=dark)
            assert await phone.look("unfit()") == []
            await phone.look(
                "document.querySelectorAll('details').forEach((one) => one.open = true)"
            )
            assert await phone.look("unfit()") == []
            if dark or name not in LARGE:  # what is large takes the rules half a minute
                await phone.look(AXE.read_text() + "\n;null")
                assert await phone.look("barriers()") == []
            assert phone.complaints() == []
            assert asked_of_the_network(phone) == []
        await on_paper(await opened(phones, url, wide=NARROWER_THAN_PAPER_PX, dark=True))


async def on_paper(phone: Phone) -> None:
    await phone.do("Emulation.setEmulatedMedia", media="print")
    assert await phone.look(f"onPaper({NARROWER_THAN_PAPER_PX}, {LOWER_THAN_PAPER_PX})") == {
        "cut": 0,
        "alone": 0,
        "tall": 0,
        "lost": 0,
        "wide": False,
        "closed": 0,
        "paper": "rgb(255, 255, 255)",
    }
    for wide, high in (A4, LETTER):
        printed = await phone.do("Page.printToPDF", paperWidth=wide, paperHeight=high)
        assert base64.b64decode(printed["data"]).startswith(b"%PDF")


async def test_the_table_that_a_script_makes_is_the_one_that_stands_in_the_page(
    chromium: Chromium, tmp_path: Path
):
    sources = [with_history(drawn({"slip": 0.02, "=SUM(A1)": 0.1}, ("volunteer-a",), 9))]
    rig = drawn({"rig": 0.004}, ("",), 3)
    url = written(tmp_path, page_of(*sources, rig=rig))
    (tmp_path / "still.html").write_text(
        f"<!doctype html><title>t</title>{every_reading([*sources, rig])}"
    )
    async with chromium.phones() as phones:
        made = await opened(phones, url)
        still = await opened(phones, (tmp_path / "still.html").as_uri())
        assert await made.look("readingHeads()") == await still.look("readingHeads()")
        assert await made.look("readingRows()") == await still.look("readingRows()")
        kinds = "readingKinds()"
        assert await made.look(kinds) == await still.look(kinds)
        assert "sentence" in str(await made.look(kinds))


async def test_readings_are_sorted_leafed_through_and_kept_by_keys(
    chromium: Chromium, tmp_path: Path
):
    slip = drawn({"slip": 0.02, "=SUM(A1)": 0.1}, ("volunteer-a",), 500)
    async with chromium.phones() as phones:
        phone = await opened(phones, written(tmp_path, page_of(with_history(slip))), wide=1280)
        status = "#readings [role=status]"
        assert await phone.text_of(status) == "1 to 200 of 1,000, in the order taken."
        await phone.look("headOf('reading').focus()")
        await phone.key("Enter")
        assert await phone.text_of(status) == "1 to 200 of 1,000, by reading, mm, rising."
        await phone.key("Enter")
        assert await phone.text_of(status) == "1 to 200 of 1,000, by reading, mm, falling."
        assert await phone.look("document.querySelector('[aria-sort]').ariaSort") == "descending"
        values = [row[7] for row in await phone.look("readingRows()")]
        numbers = [float(value.replace("\N{MINUS SIGN}", "-")) for value in values]
        assert numbers == sorted(slip.rows.value_mm, reverse=True)[:200]
        await phone.press_labelled("Last")
        assert await phone.text_of(status) == "801 to 1,000 of 1,000, by reading, mm, falling."
        kept = await kept_table(phone, tmp_path)
    heads, *rows = csv.reader(kept.splitlines())
    place = {head: at for at, head in enumerate(heads)}
    assert len(rows) == 1000
    assert {row[place["method"]] for row in rows} == {"slip", "'=SUM(A1)"}
    assert [float(row[place["reading, mm"]]) for row in rows] == sorted(
        slip.rows.value_mm, reverse=True
    )


async def kept_table(phone: Phone, tmp_path: Path) -> str:
    """What comes of the button that keeps the readings, as a browser would write it to disk."""
    await phone.do("Page.setDownloadBehavior", behavior="allow", downloadPath=str(tmp_path))
    await phone.press_labelled("Keep them")
    await phone.look("new Promise((done) => setTimeout(done, 300))")
    return (tmp_path / "readings.csv").read_text()


def test_the_vendored_rules_are_the_ones_named():
    told = AXE.with_name("SOURCE.md").read_text()
    assert sha256(AXE.read_bytes()).hexdigest() in told
    assert json.dumps("4.14.1") in AXE.read_text()
