"""One of several, said on the page in the real Chromium: which buttons and keys say it."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from chromium import Chromium, Phone
from page_bench import Bench, now, served

from hostctl.deeds import Deed, MeterLeads, PressPlunger, TryBlade, WatchLamp, WatchLeads
from hostctl.news import Answer, PromptKind, Word

pytestmark = [pytest.mark.browser, pytest.mark.slow]

DARK, LIT = "#which button:first-child", "#which button:last-child"
SIZES = [(320, 568), (390, 844), (640, 360), (768, 1024), (1280, 800)]
KEYS: list[tuple[Deed, str, str]] = [
    (WatchLamp(), "l", "lit"),
    (MeterLeads(), "b", "beyond"),
    (WatchLeads(), "k", "slack"),
    (PressPlunger(), "g", "grew"),
]
LAID_OUT = """(() => {
  const [one, other] = [...document.querySelectorAll('#which button')];
  const [a, b] = [one, other].map((each) => each.getBoundingClientRect());
  const looks = [one, other].map((each) => getComputedStyle(each));
  const whole = (e) => e.scrollWidth <= e.clientWidth && e.scrollHeight <= e.clientHeight;
  const seen = (box) => box.top >= 0 && box.bottom <= innerHeight && box.right <= innerWidth;
  const words = [one, other].map((each) => each.querySelector('b').firstChild);
  const lines = words.map((text) => {
    const range = document.createRange();
    range.selectNodeContents(text);
    return range.getClientRects().length;
  });
  return {
    apart: b.left - a.right,
    least: Math.min(a.width, a.height, b.width, b.height),
    sameRow: Math.abs(a.top - b.top) < 2,
    roundness: looks.map((look) => parseFloat(look.borderTopLeftRadius)),
    inSight: [a, b].every(seen),
    whole: whole(one) && whole(other) && document.documentElement.scrollWidth <= innerWidth,
    lines: lines,
  };
})()"""


@asynccontextmanager
async def asked(
    chromium: Chromium, deed: Deed, wide: int = 390, high: int = 844, **changes: object
) -> AsyncIterator[tuple[Bench, Phone, "asyncio.Task[Answer]"]]:
    """A phone on which this is asked, settled."""
    async with served() as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url, wide=wide, high=high)
        await phone.until("document.body.dataset.line === 'live'")
        answer = ask(bench, deed, **changes)
        await settled(phone)
        yield bench, phone, answer
        answer.cancel()


def ask(bench: Bench, deed: Deed, **changes: object) -> "asyncio.Task[Answer]":
    kind = PromptKind.READ if isinstance(deed, TryBlade) else PromptKind.CHOOSE
    return asyncio.create_task(bench.ask(kind, "Which is it?", deed=deed, **changes))


async def settled(phone: Phone) -> None:
    await phone.shows("Which is it?")
    await phone.until("document.body.dataset.settled === 'true'")


async def held_enter(phone: Phone, times: int) -> None:
    """Enter kept down: the browser tells that it repeats."""
    for turn in range(times):
        await phone.do(
            "Input.dispatchKeyEvent",
            type="keyDown",
            key="Enter",
            text="\r",
            windowsVirtualKeyCode=13,
            autoRepeat=turn > 0,
        )


@pytest.mark.parametrize(("button", "choice"), [(DARK, "dark"), (LIT, "lit")])
async def test_a_button_says_it(chromium: Chromium, button: str, choice: str):
    async with asked(chromium, WatchLamp()) as (_, phone, answer):
        await phone.press(button)
        said = await answer
        assert (said.word, said.choice, said.channel) == (Word.CHOSEN, choice, "phone page")
        assert phone.complaints() == []


async def test_its_key_says_it(chromium: Chromium):
    async with asked(chromium, WatchLamp(), wide=1280, high=800) as (bench, phone, answer):
        await phone.key("d")
        assert (await answer).choice == "dark"
        for turn, (deed, key, choice) in enumerate(KEYS):
            following = ask(bench, deed, prompt_id=f"3-key-{turn}")
            await phone.until(f"document.body.dataset.prompt === '3-key-{turn}'")
            await settled(phone)
            await phone.key(key)
            assert (await following).choice == choice


async def test_enter_says_nothing_wherever_it_is_pressed(chromium: Chromium):
    async with asked(chromium, WatchLamp(), wide=1280, high=800) as (_, phone, answer):
        await phone.key("Enter")
        for button in (DARK, LIT):
            await phone.look(f"document.querySelector('{button}').focus()")
            await phone.key("Enter")
            await held_enter(phone, 5)
        await phone.key("q")
        assert await phone.look("document.getElementById('note').innerText") == ""
        assert not answer.done()
        await phone.key("l")  # all before it was passed over
        assert (await answer).choice == "lit"


async def test_a_key_held_down_steps_once(chromium: Chromium):
    async with asked(chromium, WatchLamp(), wide=1280, high=800) as (bench, phone, answer):
        for turn in range(3):
            await phone.do(
                "Input.dispatchKeyEvent",
                type="keyDown",
                key="d",
                text="d",
                windowsVirtualKeyCode=68,
                autoRepeat=turn > 0,
            )
        assert (await answer).choice == "dark"
        following = ask(bench, WatchLamp(), prompt_id="3-next")
        await phone.until("document.body.dataset.prompt === '3-next'")
        await settled(phone)
        await phone.do(
            "Input.dispatchKeyEvent",
            type="keyDown",
            key="d",
            text="d",
            windowsVirtualKeyCode=68,
            autoRepeat=True,
        )
        await phone.key("l")
        assert (await following).choice == "lit"


async def test_a_press_right_after_the_prompt_came_says_nothing(chromium: Chromium):
    async with asked(chromium, WatchLamp()) as (bench, phone, answer):
        await phone.press(DARK)
        await answer
        following = ask(bench, WatchLamp(), prompt_id="3-next")
        await phone.until("document.body.dataset.prompt === '3-next'")
        pressed = "document.querySelector('#which button').click()"
        soon = f"document.body.dataset.settled === 'true' || ({pressed}, false)"
        await phone.look(soon)
        await settled(phone)
        assert not following.done()
        await phone.press(LIT)
        assert (await following).choice == "lit"


@pytest.mark.parametrize("deed", [WatchLamp(), MeterLeads()], ids=lambda deed: deed.do)
async def test_two_buttons_are_large_far_apart_and_unlike_in_shape(chromium: Chromium, deed: Deed):
    async with asked(chromium, deed) as (_, phone, _answer):
        for wide, high in SIZES:
            await phone.prepare(wide, high, dark=False)
            await phone.until(f"innerWidth === {wide} && innerHeight === {high}")
            laid = await phone.look(LAID_OUT)
            assert isinstance(laid, dict)
            assert laid["apart"] >= 30
            assert laid["least"] >= 80
            assert laid["sameRow"]
            assert laid["inSight"]
            assert laid["whole"]
            assert laid["lines"] == [1, 1]
            assert laid["roundness"][0] < 5 < 40 < laid["roundness"][1]


async def test_there_is_no_done_and_the_lamp_of_a_simulated_machine_is_told(chromium: Chromium):
    async with asked(chromium, WatchLamp(), simulated_contact=True) as (_, phone, _answer):
        assert await phone.look("document.getElementById('done').offsetParent") is None
        assert await phone.text_of("#headline") == "Dark or lit?"
        assert await phone.text_of("#simulated") == "Simulated lamp: lit"
        assert "Redo" in await phone.text_of("#others")


async def test_the_buttons_go_when_something_else_is_asked(chromium: Chromium):
    async with asked(chromium, WatchLamp()) as (bench, phone, answer):
        await phone.press(LIT)
        await answer
        following = asyncio.create_task(bench.ask(PromptKind.SET, "Slide the paper."))
        await phone.shows("Slide the paper.")
        await phone.until("document.body.dataset.settled === 'true'")
        assert await phone.look("document.getElementById('which').offsetParent") is None
        await phone.key("l")  # says nothing here
        await phone.press("#done")
        assert (await following).word is Word.DONE


async def test_a_blades_thickness_is_typed_without_a_sign(chromium: Chromium):
    async with asked(chromium, TryBlade(which="largest-in")) as (_, phone, answer):
        assert await phone.text_of("#typed-label") == "The blade is so thick"
        assert await phone.text_of("#done") == "Type the thickness"
        assert await phone.look("document.querySelector('#pad button:nth-child(10)').disabled")
        await phone.type("-0.15")
        await phone.shows("KEEP 0.15 mm")
        await phone.press("#done")
        assert (await answer).reading_mm == 0.15


async def test_what_was_typed_for_one_blade_is_not_left_for_the_other(chromium: Chromium):
    async with asked(chromium, TryBlade(which="largest-in")) as (bench, phone, answer):
        await phone.type("0.15")
        prompt = bench.station.desk.open_prompt
        assert prompt is not None
        bench.station.desk.answer(
            Answer(
                prompt_id=prompt.prompt_id,
                word=Word.READING,
                reading_mm=0.1,
                channel="terminal",
                given_at=now(),
            )
        )
        await answer
        following = ask(bench, TryBlade(which="smallest-out"), prompt_id="3-next")
        await phone.until("document.body.dataset.prompt === '3-next'")
        assert await phone.look("document.getElementById('typed').value") == ""
        following.cancel()
