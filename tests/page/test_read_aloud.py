"""Prompts read aloud, in the real Chromium with a stand-in for its voice."""

import asyncio

import pytest
from chromium import Chromium, Phone, Phones
from page_bench import Bench, served
from test_browser import ask

from hostctl.deeds import TurnScrew
from hostctl.news import HoldBegan, LiveReading, PromptKind

pytestmark = [pytest.mark.browser, pytest.mark.slow]

VOICE = """(voices) => {
  const said = window.said = [];
  const synthesis = {
    getVoices: () => voices, addEventListener: () => {}, cancel: () => said.push("hush"),
    speak: (words) => said.push(words.text),
  };
  Object.defineProperty(window, "speechSynthesis", { value: synthesis });
  window.SpeechSynthesisUtterance = function (text) { this.text = text; };
}"""
OWN = '[{ localService: true, lang: "en-GB" }]'
AFAR = '[{ localService: false, lang: "en-GB" }]'


async def a_phone_with(phones: Phones, bench: Bench, voices: str) -> Phone:
    phone = await phones.open("about:blank#")
    await phone.do("Page.addScriptToEvaluateOnNewDocument", source=f"({VOICE})({voices})")
    await phone.go(bench.url)
    await phone.until("document.body.dataset.line === 'live'")
    return phone


async def test_once_turned_on_it_reads_what_is_asked_until_that_is_answered(chromium: Chromium):
    deed = TurnScrew(screw="front-left", turn_deg=90.0, direction="clockwise", target_mm=-0.03)
    async with served() as bench, chromium.phones() as phones:
        phone = await a_phone_with(phones, bench, OWN)
        bench.begin()
        unheard = ask(bench, PromptKind.CONFIRM, "Not to be heard.")
        await phone.shows("Not to be heard.")
        assert [one for one in await heard(phone) if one != "hush"] == []
        unheard.cancel()
        await phone.press("#aloud")
        turning = ask(bench, PromptKind.CONFIRM, "Turn it 90°.", deed=deed)
        await phone.until("said.at(-1)?.endsWith('Turn it 90 degrees.')")
        assert (await heard(phone))[-1].startswith("volunteer-a. paper-slip. ")
        shown = LiveReading(prompt_id="3-2-a", target_mm=-0.03, present_mm=0.1, resolution_mm=0.01)
        for _ in range(2):
            bench.station.desk.tell(shown)
        await phone.until("said.at(-1) === 'Turn until it shows minus 0.03.'")
        await phone.press("#done")
        await phone.until("said.at(-1) === 'hush'")
        assert (await heard(phone)).count("Turn until it shows minus 0.03.") == 1
        await asyncio.wait_for(turning, 5)
        bench.station.desk.tell(HoldBegan(reason="the indicator was lost"))
        await phone.until("said.at(-1) === 'On hold. The indicator was lost.'")
        await phone.reload()
        await phone.until(
            "document.getElementById('aloud').getAttribute('aria-pressed') === 'true'"
        )
        assert phone.complaints() == []


async def test_without_a_voice_of_its_own_the_setting_says_so(chromium: Chromium):
    async with served() as bench, chromium.phones() as phones:
        phone = await a_phone_with(phones, bench, AFAR)
        await phone.shows("Read aloud: no English voice in this browser")
        assert await phone.look("document.getElementById('aloud').disabled")


async def heard(phone: Phone) -> list[str]:
    told = await phone.look("said")
    assert isinstance(told, list)
    return told
