"""The page in the real Chromium, used as a person does: by pressing, typing and looking."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from chromium import Chromium, Phone, Phones
from page_bench import MACHINE, PLANS, Bench, now, place, served
from wireless import Wireless

from hostctl.channels.page.live.lately import Lately
from hostctl.news import (
    Answer,
    CountdownTicked,
    HoldBegan,
    Moving,
    Prompt,
    PromptKind,
    RunFinished,
    Word,
)
from hostctl.run import wording
from hostctl.run.holds import hold_wording
from hostctl.run.procedures.turning_away import turned_away

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PHONE = {"wide": 390, "high": 844}
LITTLE = {"wide": 360, "high": 640}
TABLET = {"wide": 768, "high": 1024}
ON_ITS_SIDE = {"wide": 640, "high": 360}
LARGE_ON_ITS_SIDE = {"wide": 932, "high": 430}
SMALL_ON_ITS_SIDE = {"wide": 568, "high": 320}
DESK = {"wide": 1280, "high": 800}
SMALL = {"wide": 320, "high": 568}


@asynccontextmanager
async def a_phone(chromium: Chromium, **size: object) -> AsyncIterator[tuple[Bench, Phone]]:
    async with served() as bench, chromium.phones() as phones:
        yield bench, await opened(phones, bench.url, **size)


@asynccontextmanager
async def a_phone_afar(chromium: Chromium) -> AsyncIterator[tuple[Bench, Phone, Wireless]]:
    """A phone with a wireless between it and the server."""
    async with (
        served() as bench,
        chromium.phones() as phones,
        on_the_air(bench.url) as (url, wireless),
    ):
        yield bench, await opened(phones, url), wireless


@asynccontextmanager
async def on_the_air(server_url: str) -> AsyncIterator[tuple[str, Wireless]]:
    """The address under which a phone finds the server, over a wireless."""
    wireless = Wireless(int(server_url.rpartition(":")[2]))
    async with wireless.on_the_air() as port:
        yield f"http://127.0.0.1:{port}", wireless


async def opened(phones: Phones, url: str, **size: object) -> Phone:
    phone = await phones.open(url, **size)  # type: ignore[arg-type]  # a table of keywords
    await phone.until("document.body.dataset.line === 'live' && document.title !== 'hostctl'")
    return phone


def ask(bench: Bench, kind: PromptKind, text: str, **changes: object) -> asyncio.Task[Answer]:
    return asyncio.create_task(bench.ask(kind, text, **changes))


async def ready(phone: Phone, text: str) -> None:
    """Wait until the prompt with this text can be answered."""
    await phone.shows(text)
    await phone.until("document.body.dataset.settled === 'true'")


def answer_elsewhere(bench: Bench, word: Word = Word.DONE, reading_mm: float | None = None) -> None:
    prompt = bench.station.desk.open_prompt
    assert prompt is not None
    bench.station.desk.answer(
        Answer(
            prompt_id=prompt.prompt_id,
            word=word,
            reading_mm=reading_mm,
            channel="terminal",
            given_at=now(),
        )
    )


# ------------------------------------------------------------------ answering


async def test_done_is_pressed(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("Slide the paper.")
        await phone.press("#done")
        assert (await answer).word is Word.DONE


async def test_until_it_is_on_the_disk_an_answer_is_said_to_be_being_kept(chromium: Chromium):
    on_the_disk = asyncio.Event()

    async def slow_disk(prompt: Prompt, answer: Answer) -> None:
        await on_the_disk.wait()

    async with a_phone(chromium) as (bench, phone):
        answer = asyncio.create_task(bench.ask(PromptKind.SET, "Slide the paper.", slow_disk))
        await ready(phone, "Slide the paper.")
        await phone.press("#done")
        await phone.shows("Being kept …")
        assert not answer.done()
        on_the_disk.set()
        assert (await answer).word is Word.DONE


@pytest.mark.parametrize(
    ("presses", "graduations", "label", "reading_mm"),
    [
        ("0.02", False, "KEEP +0.02 mm", 0.02),
        ("±0.01", False, "KEEP −0.01 mm", -0.01),
        ("0.01±", False, "KEEP −0.01 mm", -0.01),
        ("0", False, "KEEP 0.00 mm", 0.0),
        ("2", True, "KEEP +0.02 mm", 0.02),
        ("±12", True, "KEEP −0.12 mm", -0.12),
    ],
)
async def test_a_reading_is_typed_on_the_pad(
    chromium: Chromium, presses: str, graduations: bool, label: str, reading_mm: float
):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.READ, "Read it.", typed_in_graduations=graduations)
        await phone.shows("Read it.")
        for key in presses:
            await phone.press(f"#pad button:nth-child({'123456789±0.'.index(key) + 1})")
        await phone.shows(label)
        await phone.press("#done")
        assert (await answer).reading_mm == pytest.approx(reading_mm, abs=1e-9)


async def test_without_a_number_a_reading_cannot_be_sent(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.READ, "Read it.")
        await phone.until("document.body.dataset.settled === 'true'")
        await phone.shows("Type the reading")
        assert await phone.look("document.getElementById('done').disabled")
        answer.cancel()


async def test_a_dial_that_is_not_at_zero_is_typed_after_all(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.ZERO, "Turn the indicator to zero.")
        await phone.shows("DONE, it shows zero")
        await phone.press("#type-it")
        await phone.press("#pad button:nth-child(3)")
        await phone.press("#done")
        assert (await answer).reading_mm == 3.0


@pytest.mark.parametrize(
    ("button", "word"), [("#redo", Word.REDO), ("#skip", Word.SKIP), ("#end", Word.END)]
)
async def test_redo_skip_and_end_are_asked_for_twice(chromium: Chromium, button: str, word: Word):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.press(button)
        assert not answer.done()
        await phone.press("#sure-yes")
        assert (await answer).word is word


async def test_what_the_cable_alone_sends_no_button_answers(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.SEND, "Press the cable's button.")
        await ready(phone, "Press the cable's button.")
        assert await phone.look("document.getElementById('done').hidden")
        assert await phone.look("document.getElementById('entry').hidden")
        assert not await phone.look("document.getElementById('others').hidden")
        await phone.press("#redo")
        await phone.press("#sure-yes")
        assert (await answer).word is Word.REDO


PRESS_AS_IT_APPEARS = """{
  window.presses = 0;
  const text = document.getElementById('text');
  new MutationObserver(() => {
    if (text.textContent !== 'Slide it again.') return;
    document.getElementById('done').click();
    window.presses += 1;
  }).observe(text, { childList: true, characterData: true, subtree: true });
}"""


async def test_a_press_meant_for_one_prompt_does_not_answer_the_next(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.until("document.body.dataset.settled === 'true'")
        answer_elsewhere(bench)
        await answer
        await phone.look(PRESS_AS_IT_APPEARS)
        following = ask(bench, PromptKind.SET, "Slide it again.")
        await phone.until("window.presses > 0")
        await phone.until("document.body.dataset.settled === 'true'")
        assert not following.done()
        await phone.press("#done")
        await following


async def test_redo_says_which_reading_it_takes_again(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        for trial in range(4):
            bench.keep(0.01 * trial, trial)
        at = place(trial=4)
        words = wording.turn_away(turned_away(MACHINE, at.point, 120), at, place(trial=3))
        answer = ask(
            bench,
            PromptKind.CONFIRM,
            words.text,
            place=at,
            deed=words.deed,
            redo_takes=place(trial=3),
        )
        await phone.press("#redo")
        whose = "paper-slip · volunteer-a · front-left"
        await phone.shows(f"Take trial 3 (+0.03 mm) of {whose} again?")
        answer.cancel()
        await asyncio.sleep(0)
        answer = ask(bench, PromptKind.SET, "Slide it again.", place=at)
        await ready(phone, "Slide it again.")
        await phone.press("#redo")
        await phone.shows(f"Begin trial 4 of {whose} anew? Nothing of it is kept yet.")
        await phone.press("#sure-no")
        await phone.press("#skip")
        await phone.shows(f"Skip trial 4 of {whose}?")
        answer.cancel()


async def test_what_is_typed_here_outlives_an_entry_of_somebody_else_that_was_not_taken(
    chromium: Chromium,
):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.READ, "Read it.")
        await ready(phone, "Read it.")
        await phone.press("#pad button:nth-child(1)")
        answer_elsewhere(bench, Word.READING, reading_mm=3.2)
        await answer
        answer = ask(bench, PromptKind.READ, wording.too_far(3.2, 0.5))
        await ready(phone, "type it once more")
        assert await phone.look("document.getElementById('typed').value") == "1"
        await phone.shows("What you typed is still here, and not sent.")
        await phone.press("#done")
        assert (await answer).reading_mm == 1
        answer = ask(bench, PromptKind.READ, wording.too_far(1, 0.5))
        await ready(phone, "1 mm is further")
        assert await phone.look("document.getElementById('typed').value") == ""  # it was ours
        await phone.press("#pad button:nth-child(2)")
        answer_elsewhere(bench, Word.READING, reading_mm=0.02)
        await answer
        answer = ask(bench, PromptKind.READ, "Read the next.", place=place(trial=2))
        await ready(phone, "Read the next.")
        assert await phone.look("document.getElementById('typed').value") == ""
        answer.cancel()


# ------------------------------------------------------------------ sleep, reload, several phones


async def test_a_page_loaded_again_shows_the_same_prompt(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        answer = ask(bench, PromptKind.READ, "Read it.")
        await phone.shows("Read it.")
        await phone.press("#pad button:nth-child(1)")
        await phone.reload()
        await phone.shows("Read it.")
        assert await phone.look("document.getElementById('typed').value") == ""
        await phone.press("#pad button:nth-child(11)")
        await phone.press("#done")
        assert (await answer).reading_mm == 0.0


async def test_a_lost_line_is_said_and_leaves_only_hold_and_stop_alive(chromium: Chromium):
    async with a_phone_afar(chromium) as (bench, phone, wireless):
        bench.begin()
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await ready(phone, "Slide the paper.")
        wireless.cut()
        await phone.shows("Connection lost.")
        alive = await phone.look(
            "[...document.querySelectorAll('header button, #dock button')]"
            ".filter((b) => b.offsetParent && !b.disabled).map((b) => b.id)"
        )
        assert alive == ["hold", "stop"]
        await phone.press("#stop")
        await phone.shows("STOP did not get through: switch off the machine’s mains.")
        wireless.mend()
        await phone.until("document.body.dataset.line === 'live'")
        await phone.press("#done")
        assert (await answer).word is Word.DONE


async def test_a_device_that_thinks_it_is_offline_is_believed_until_something_comes(
    chromium: Chromium,
):
    async with a_phone(chromium) as (_, phone):
        await phone.look("dispatchEvent(new Event('offline'))")
        await phone.shows("Connection lost. This device is offline.")
        await phone.until("document.body.dataset.line === 'live'")


async def test_what_was_asked_while_the_phone_slept_is_shown_and_answered_once(
    chromium: Chromium,
):
    async with a_phone_afar(chromium) as (bench, phone, wireless):
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("Slide the paper.")
        wireless.cut()
        await phone.shows("Connection lost.")
        answer_elsewhere(bench)
        await answer
        answer = ask(bench, PromptKind.SET, "Slide it again.")
        wireless.mend()
        await phone.shows("Slide it again.")
        await phone.press("#done")
        assert (await answer).word is Word.DONE


async def test_two_phones_stay_in_step_and_the_second_answer_is_refused_kindly(
    chromium: Chromium,
):
    async with served() as bench, chromium.phones() as phones:
        first, second = await opened(phones, bench.url), await opened(phones, bench.url)
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await second.until("document.body.dataset.settled === 'true'")
        # The second phone's line is slow: its press arrives after the first one's.
        await second.look(
            "{ const swift = fetch;"
            " fetch = async (...all) => {"
            "   await new Promise((go) => { window.letGo = go }); return swift(...all) } }"
        )
        await second.press("#done")
        await first.press("#done")
        assert (await answer).channel == "phone page"
        following = ask(bench, PromptKind.SET, "Slide it again.")
        await first.shows("Slide it again.")
        await second.shows("Slide it again.")
        await second.look("letGo()")
        await second.shows("Somebody’s answer came before yours")
        assert not following.done()
        following.cancel()


# ------------------------------------------------------------------ stopping


async def test_a_countdown_is_shown_and_called_off(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        held: list[Answer] = []
        bench.station.desk.on_stop.add(held.append)
        bench.station.desk.tell(CountdownTicked(seconds_left=3, what="The head lifts."))
        await phone.shows("Moves in")
        assert await phone.text_of("#count") == "3"
        await phone.press("#call-off")
        await phone.shows("On hold.")
        assert [answer.word for answer in held] == [Word.HOLD]


AN_HOUR_LATER = """{
  const real = performance.now.bind(performance);
  performance.now = () => real() + 3_600_000;
}"""


async def test_stop_acts_as_the_finger_comes_down_and_once(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        bench.station.desk.tell(Moving(what="The head lifts."))
        box = await phone.look(
            "(() => { const b = document.getElementById('stop').getBoundingClientRect();"
            " return [b.x + 20, b.y + 20] })()"
        )
        assert isinstance(box, list)
        at = {"x": box[0], "y": box[1], "button": "left", "clickCount": 1}
        await phone.do("Input.dispatchMouseEvent", type="mousePressed", **at)
        await phone.shows("told to halt")
        assert bench.halted == ["phone page"]
        await phone.look(AN_HOUR_LATER)  # the finger stayed down
        await phone.do("Input.dispatchMouseEvent", type="mouseReleased", **at)
        await phone.look("1")
        assert bench.halted == ["phone page"]


LOUDNESS = """(() => {
  const size = (e) => Number.parseFloat(getComputedStyle(e).fontSize);
  const dims = (e) => e ? Math.min(Number(getComputedStyle(e).opacity), dims(e.parentElement)) : 1;
  const seen = [...document.querySelectorAll('h1, h2, p, b, button, label')]
    .filter((e) => e.offsetParent && e.innerText.trim());
  const alarm = document.getElementById('alarm-what');
  const box = alarm.getBoundingClientRect();
  return {
    largest: seen.every((e) => e === alarm || size(e) < size(alarm)),
    undimmed: dims(alarm) === 1,
    ground: getComputedStyle(alarm.parentElement).backgroundColor,
    inSight: box.top >= 0 && box.bottom <= innerHeight,
  };
})()"""


@pytest.mark.parametrize("size", [SMALL, PHONE, DESK])
async def test_a_stop_that_was_not_taken_is_the_loudest_on_the_screen(
    chromium: Chromium, size: dict[str, int]
):
    async with (
        served() as bench,
        chromium.phones() as phones,
        on_the_air(bench.url) as (url, wireless),
    ):
        phone = await opened(phones, url, **size)
        bench.begin()
        answer = ask(bench, PromptKind.READ, "Read it.")
        await ready(phone, "Read it.")
        wireless.cut()
        await phone.shows("Connection lost.")
        await phone.look("scrollTo(0, document.body.scrollHeight)")
        await phone.press("#stop")
        await phone.shows("STOP did not get through: switch off the machine’s mains.")
        loud = await phone.look(LOUDNESS)
        red = "rgb(176, 0, 32)"
        assert loud == {"largest": True, "undimmed": True, "ground": red, "inSight": True}
        wireless.mend()
        await phone.until("document.body.dataset.line === 'live'")
        await phone.press("#stop")
        await phone.until("document.getElementById('alarm').hidden")
        answer.cancel()


async def test_a_stop_that_is_long_on_its_way_says_so_and_where_the_mains_come_in(
    chromium: Chromium,
):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        await phone.shows("may move")
        await phone.look(
            "{ const swift = fetch; fetch = async (...all) => {"
            " await new Promise((go) => { window.letGo = go }); return swift(...all) } }"
        )
        await phone.press("#stop")
        await phone.shows("STOP is on its way. If the machine goes on, switch off its mains.")
        await phone.look("letGo()")
        await phone.until("document.getElementById('alarm').hidden")
        assert bench.halted == ["phone page"]


async def test_after_a_stop_it_says_stopped_what_to_press_and_what_is_taken_anew(
    chromium: Chromium,
):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        bench.station.desk.tell(HoldBegan(reason="The cable was pulled."))
        await phone.shows("On hold")
        amber = await phone.look(GROUND)
        held = HoldBegan(
            reason=hold_wording.stopped("phone page", went_out=True), stopped=True, taken_anew=9
        )
        bench.station.desk.tell(held)
        words = hold_wording.go_on_after_hold(held, must_home=True)
        answer = ask(bench, PromptKind.CONFIRM, words.text, place=None, detail=words.detail)
        await ready(phone, "DONE: it homes")
        assert await phone.text_of("#standing") == "halted"
        assert await phone.text_of("#headline") == "STOPPED"
        assert "confirm (DONE): it connects and homes" in await phone.text_of("#text")
        assert "The block begins again: 9 readings are taken anew." in await phone.text_of("#mind")
        assert await phone.look(GROUND) != amber
        answer.cancel()


async def test_a_stop_that_did_not_reach_the_machine_says_so_large(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        why = hold_wording.stopped("phone page", went_out=False)
        bench.station.desk.tell(HoldBegan(reason=why, stopped=True, not_told=True, taken_anew=9))
        await phone.until(
            "document.getElementById('mind').innerText"
            " === 'The machine was not told: switch it off at the mains.'"
        )
        assert await phone.text_of("#headline") == "Switch it off"
        assert await phone.text_of("#standing") == "not told"


GROUND = "getComputedStyle(document.getElementById('now')).backgroundColor"


@pytest.mark.parametrize("size", [PHONE, DESK, SMALL])
async def test_hold_and_stop_are_in_sight_wherever_one_scrolls(
    chromium: Chromium, size: dict[str, int]
):
    async with a_phone(chromium, **size) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.READ, "Read it. " * 16, detail="And mind this. " * 30)
        await phone.shows("Read it.")
        await phone.look("scrollTo(0, document.body.scrollHeight)")
        on_top = await phone.look(
            "['hold', 'stop'].map((id) => { const e = document.getElementById(id);"
            " const b = e.getBoundingClientRect(); const x = b.x + b.width / 2;"
            " return document.elementFromPoint(x, b.y + b.height / 2)?.id })"
        )
        assert on_top == ["hold", "stop"]
        answer.cancel()


async def test_the_page_never_calls_its_stop_an_emergency_stop(chromium: Chromium):
    async with a_phone(chromium) as (_, phone):
        text = await phone.text_of("body")
        assert "STOP halts the machine now. It is not an emergency stop" in text
        assert text.lower().count("emergency") == 1


# ------------------------------------------------------------------ pairing, arming, starting


async def test_a_scanned_code_pairs_and_leaves_no_trace_in_the_address(chromium: Chromium):
    async with served(listen="0.0.0.0") as bench, chromium.phones() as phones:
        code = bench.server.pair().code
        phone = await phones.open(f"{bench.url}/pair#{code}")
        await phone.until("location.pathname === '/' && document.body.dataset.line === 'live'")
        assert code not in str(await phone.look("location.href"))


async def test_a_code_that_is_not_open_is_refused_in_words(chromium: Chromium):
    async with served(listen="0.0.0.0") as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url)
        await phone.until("location.pathname === '/pair'")
        await phone.press("#code")
        await phone.type("ABCD2345")
        await phone.key("Enter")
        await phone.shows("Not paired: check what you typed")


ONE_COLUMN = """(() => {
  const main = document.querySelector('main');
  const cut = (e) => e.scrollWidth > e.clientWidth || e.scrollHeight > e.clientHeight + 1;
  const parts = [...main.children].filter((e) => e.offsetHeight);
  return parts.every((e) => e.clientWidth > 0.9 * (main.clientWidth - 24)) && !parts.some(cut);
})()"""


@pytest.mark.parametrize(
    ("wide", "high"),
    [(320, 480), (320, 568), (320, 700), (360, 640), (390, 844), (844, 390), (1280, 800)],
)
async def test_the_pairing_page_is_one_column_at_every_size(
    chromium: Chromium, wide: int, high: int
):
    async with served(listen="0.0.0.0") as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url, wide=wide, high=high)
        await phone.until("location.pathname === '/pair'")
        assert await phone.look(ONE_COLUMN)
        await phone.press("#code")
        await phone.type("ABCD2345")
        await phone.key("Enter")
        await phone.shows("Not paired")
        assert await phone.look(ONE_COLUMN)


async def test_a_pairing_code_on_a_phone_does_not_outlive_the_host_that_made_it(
    chromium: Chromium, tmp_path: Path
):
    kept = tmp_path / "phones.json"
    async with chromium.phones() as phones:
        async with served(listen="0.0.0.0", sessions_file=kept) as bench:
            port = int(bench.url.rpartition(":")[2])
            phone = await phones.open(f"{bench.url}/pair#{bench.server.pair().code}")
            await phone.until("document.body.dataset.line === 'live'")
            await phone.press("#invite")
            await phone.shows("It serves once, within 5 minutes.")
            code = await phone.text_of("#invitation .code")
        await phone.shows("Connection lost.")
        async with served(listen="0.0.0.0", sessions_file=kept, port=port) as bench:
            await phone.shows("The host was started again: the code")
            assert await phone.look("document.querySelectorAll('#invitation svg').length") == 0
            other = await phones.open(f"{bench.url}/pair#{code.replace(' ', '')}")
            await other.shows("or the host was started again since")


async def test_a_phone_that_is_shut_out_comes_to_the_pairing_page(chromium: Chromium):
    async with (
        served(listen="0.0.0.0") as bench,
        chromium.phones() as phones,
        on_the_air(bench.url) as (url, wireless),
    ):
        phone = await phones.open(f"{url}/pair#{bench.server.pair().code}")
        await phone.until("document.body.dataset.line === 'live'")
        bench.server.forget_phones()
        wireless.cut()
        await phone.shows("Connection lost.")
        wireless.mend()
        await phone.until("location.pathname === '/pair'")


async def test_a_phone_that_watches_when_it_is_shut_out_comes_there_too(chromium: Chromium):
    async with served(listen="0.0.0.0") as bench, chromium.phones() as phones:
        phone = await phones.open(f"{bench.url}/pair#{bench.server.pair().code}")
        await phone.until("document.body.dataset.line === 'live'")
        bench.server.forget_phones()
        bench.begin()  # news, so that the stream need not wait for its pulse
        await phone.until("location.pathname === '/pair'")


async def test_what_came_of_the_last_run_is_said_once(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        bench.station.notice = "Run 3 is complete: hostctl show 3"
        bench.finish()
        await phone.until("document.getElementById('text').innerText === 'Run 3 is complete.'")


async def test_what_is_wrong_beside_the_run_is_said_while_it_is(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        ask(bench, PromptKind.SET, "Slide the paper.")
        bench.station.warn("messages", "messages: the broker was lost")
        said = "document.getElementById('warnings').innerText"
        await phone.until(f"{said} === 'Messages: the broker was lost.'")
        bench.station.warn("messages", "")
        await phone.until(f"{said} === ''")


async def test_a_study_is_started_with_the_code_on_the_machines_screen(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        shown = []
        bench.station.on_show_code.add(shown.append)
        await phone.press("#show-code")
        await phone.shows("The machine shows the code")
        await phone.press("#code")
        await phone.type(shown[0].code)
        await phone.key("Enter")
        await phone.press_labelled(f"Start: {PLANS['rig-check'].title}")
        assert (await bench.station.next_request()).study == "rig-check"


async def test_a_start_says_what_it_starts_how_many_trials_and_how_long(chromium: Chromium):
    async def recent(machine: str) -> Lately:
        return Lately(took_min={"three-methods": 95})

    async with served(recent=recent) as bench, chromium.phones() as phones:
        phone = await opened(phones, bench.url)
        bench.station.arm("button")
        await phone.shows(f"Start: {PLANS['three-methods'].title}")
        told = (await phone.text_of("#choices")).split("\n")
        plan = PLANS["three-methods"]
        trials = len(plan.methods) * len(plan.operators) * len(plan.points) * plan.trials
        assert "three-methods" in told
        # by the rates and rests of the two files; 75 min is what they come to
        assert f"{trials} trials, about 75 min; took 1 h 30 min last time" in told
        assert "not run to its end here yet" in " ".join(told)


# ------------------------------------------------------------------ keyboard, screen reader, looks


async def test_a_study_is_answered_with_the_keyboard_alone(chromium: Chromium):
    async with a_phone(chromium, **DESK) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await ready(phone, "Slide the paper.")
        await phone.key("Enter")
        assert (await answer).word is Word.DONE
        answer = ask(bench, PromptKind.READ, "Read it.")
        await ready(phone, "Read it.")
        await phone.type("-0.02")
        await phone.shows("KEEP −0.02 mm")
        await phone.key("Backspace")
        await phone.type("1")
        await phone.key("Enter")
        assert (await answer).reading_mm == -0.01
        answer = ask(bench, PromptKind.SET, "Slide it again.")
        await ready(phone, "Slide it again.")
        await phone.key("s")
        await phone.shows("Skip trial 1 of")
        answer_elsewhere(bench, Word.HOLD)
        await answer
        await phone.key("x")
        await phone.shows("told to halt")
        assert bench.halted == ["phone page"]


async def test_every_button_is_reached_by_tab_with_a_visible_focus(chromium: Chromium):
    async with a_phone(chromium, **DESK) as (bench, phone):
        answer = ask(bench, PromptKind.READ, "Read it.")
        await phone.shows("Read it.")
        wanted = await phone.look(
            "[...document.querySelectorAll('button, input')]"
            ".filter((e) => e.offsetParent && !e.disabled).length"
        )
        assert isinstance(wanted, int)
        reached = set()
        for _ in range(wanted):
            await phone.key("Tab")
            outline = await phone.look("getComputedStyle(document.activeElement).outlineStyle")
            assert outline == "solid"
            reached.add(await phone.look(FOCUSED))
        assert len(reached) == wanted
        answer.cancel()


async def test_single_keys_can_be_switched_off(chromium: Chromium):
    async with a_phone(chromium, **DESK) as (bench, phone):
        await phone.press("#single-keys")
        await phone.look("document.activeElement.blur()")
        await phone.key("x")
        await phone.look("1")
        assert bench.halted == []


async def test_a_screen_reader_is_told_the_prompt_and_finds_every_name(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        at = place(point="back-right")
        words = wording.turn_away(turned_away(MACHINE, at.point, 120), at)
        answer = ask(bench, PromptKind.CONFIRM, words.text, place=at, deed=words.deed)
        await phone.shows("Turn the screw")
        tree = (await phone.do("Accessibility.getFullAXTree"))["nodes"]
        named = [
            (node["role"]["value"], node["name"]["value"])
            for node in tree
            if not node["ignored"] and "role" in node and "name" in node
        ]
        assert ("image", "Bed seen from above; back-right is marked") in named
        assert (
            "image",
            "back-right screw seen from above: turn it 120° anticlockwise",
        ) in named
        assert [name for role, name in named if role in ("button", "textbox") and not name] == []
        spoken = "document.querySelector('[aria-live=polite]').textContent"
        assert await phone.look(spoken) == f"Turn the screw. {words.text}"
        answer.cancel()


FOCUSED = "document.activeElement.id || document.activeElement.innerText"
CONTRASTS = """(() => {
  const light = ([r, g, b]) => [r, g, b].map((c) => c / 255)
    .map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
  const ground = (e) => {
    const c = rgb(getComputedStyle(e).backgroundColor);
    return c.length === 4 && c[3] === 0 && e.parentElement ? ground(e.parentElement) : c;
  };
  const told = 'h1, h2, h3, p, dt, dd, label, button:not(:disabled), .done';
  return [...document.querySelectorAll(told)]
    .filter((e) => e.offsetParent && e.innerText.trim() && !e.closest('.unseen'))
    .map((e) => {
      const both = [light(rgb(getComputedStyle(e).color)), light(ground(e))];
      const [a, b] = both.sort((x, y) => y - x);
      return [Math.round((a + 0.05) / (b + 0.05) * 10) / 10, e.id || e.innerText];
    });
})()"""


@pytest.mark.parametrize(
    ("state", "dark"),
    [
        ("resting", False),
        ("asking", False),
        ("asking", True),
        ("countdown", False),
        ("countdown", True),
        ("holding", True),
    ],
)
async def test_words_stand_out_in_dark_and_light(chromium: Chromium, state: str, dark: bool):
    # WCAG 2.2, success criterion 1.4.6 (enhanced): 7:1, large or bold text 4.5:1; from memory.
    async with a_phone(chromium, dark=dark) as (bench, phone):
        tasks = []
        if state != "resting":
            bench.begin()
        if state == "asking":
            tasks.append(ask(bench, PromptKind.READ, "Read it.", detail="To the nearest one."))
        if state == "countdown":
            bench.station.desk.tell(CountdownTicked(seconds_left=3, what="The head lifts."))
        if state == "holding":
            bench.station.desk.tell(HoldBegan(reason="The cable was pulled."))
        await phone.until(f"document.body.dataset.state === '{state}'")
        contrasts = await phone.look(CONTRASTS)
        assert isinstance(contrasts, list)
        assert len(contrasts) > 5
        assert [told for told in contrasts if told[0] < 6.5] == []
        for task in tasks:
            task.cancel()


async def test_heat_and_a_job_of_the_machines_own_are_shown(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.station.heat = "bed 38 °C, aims at 40 °C"
        bench.station.changed()
        await phone.shows("Heat: bed 38 °C, aims at 40 °C.")
        bench.begin()
        await phone.shows("Heat: bed 38 °C, aims at 40 °C.")
        bench.station.desk.tell(RunFinished(run=3, complete=True, reason="x"))
        bench.station.heat, bench.station.own_job = "", "it runs a job of its own"
        bench.station.changed()
        await phone.shows("It runs a job of its own.")
        await phone.until("document.body.dataset.state === 'own-job'")
        assert not await phone.look("document.body.innerText.includes('Heat:')")


@pytest.mark.parametrize(
    ("kind", "size", "least_px"),
    [
        (PromptKind.READ, PHONE, 48),
        (PromptKind.READ, TABLET, 48),
        (PromptKind.READ, DESK, 48),
        (PromptKind.READ, LITTLE, 48),
        (PromptKind.READ, SMALL, 44),
        (PromptKind.READ, SMALL_ON_ITS_SIDE, 44),
        (PromptKind.READ, LARGE_ON_ITS_SIDE, 48),
        (PromptKind.ZERO, SMALL, 48),
    ],
)
async def test_buttons_are_large_enough_for_thumbs_and_nothing_runs_off_the_side(
    chromium: Chromium, size: dict[str, int], kind: PromptKind, least_px: int
):
    # WCAG 2.2, success criterion 2.5.5 (enhanced): targets of at least 44 by 44; from memory.
    # 48 where the screen has room for it: common practice, no source.
    async with a_phone(chromium, **size) as (bench, phone):
        bench.begin()
        answer = ask(bench, kind, "Do what is asked.")
        await phone.shows("Do what is asked.")
        small = await phone.look(
            "[...document.querySelectorAll('button, input')].filter((e) => e.offsetParent)"
            ".map((e) => [e.id, e.getBoundingClientRect()])"
            f".filter(([, b]) => b.width < {least_px} || b.height < {least_px}).map(([id]) => id)"
        )
        assert small == []
        wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert await phone.look(wider) == 0
        answer.cancel()


LONG_NAME = "nozzle-bench-by-the-long-window-number-7"
READ_IT = wording.read_indicator(place(), 0.01).text
ZERO_IT = wording.zero_indicator(PLANS["three-methods"], place()).text
UNDER_THE_DOCK = """(() => {
  const dock = document.getElementById('dock').getBoundingClientRect().top;
  return ['text', 'headline', 'simulated'].filter((id) => {
    if (!document.getElementById(id).innerText) return false;
    const box = document.getElementById(id).getBoundingClientRect();
    const head = document.querySelector('header').getBoundingClientRect().bottom;
    return box.bottom > dock || box.top < head;
  });
})()"""


@pytest.mark.parametrize("names", [("sim-220",), (LONG_NAME, "sim-tri", "workshop-220")])
@pytest.mark.parametrize("size", [LITTLE, PHONE, TABLET])
async def test_what_is_asked_is_in_sight_above_the_number_pad(
    chromium: Chromium, size: dict[str, int], names: tuple[str, ...]
):
    async with served(*names) as bench, chromium.phones() as phones:
        phone = await opened(phones, bench.url, **size)
        bench.begin()
        answer = ask(bench, PromptKind.READ, wording.too_far(3.2, 0.5))
        await ready(phone, "type it once more")
        assert await phone.look(UNDER_THE_DOCK) == []
        answer.cancel()


async def test_on_a_lower_one_the_pad_follows_the_question_and_covers_nothing(chromium: Chromium):
    async with a_phone(chromium, wide=320, high=480) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.READ, READ_IT, simulated_indicator_mm=-0.02)
        bench.keep(0.01, 1)
        await ready(phone, READ_IT)
        assert await phone.look(UNDER_THE_DOCK) == []
        await phone.look("document.getElementById('typed').scrollIntoView()")
        assert await phone.look(UNDER_THE_DOCK + ".length > 0")  # they scroll away together
        answer.cancel()


async def test_on_the_smallest_phone_the_question_is_in_sight_above_the_number_pad(
    chromium: Chromium,
):
    async with a_phone(chromium, **SMALL) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.READ, READ_IT)
        await ready(phone, READ_IT)
        assert await phone.look(UNDER_THE_DOCK) == []
        answer.cancel()


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (ON_ITS_SIDE, wording.too_far(3.2, 0.5)),
        (LARGE_ON_ITS_SIDE, wording.too_far(3.2, 0.5)),
        (SMALL_ON_ITS_SIDE, READ_IT),
    ],
)
async def test_on_a_phone_on_its_side_question_pad_and_done_are_side_by_side(
    chromium: Chromium, size: dict[str, int], text: str
):
    async with a_phone(chromium, **size) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.READ, text)
        await ready(phone, text)
        lowest = await phone.look(
            "Math.max(...['text', 'pad', 'done'].map((id) =>"
            " document.getElementById(id).getBoundingClientRect().bottom))"
        )
        assert isinstance(lowest, int | float)
        assert lowest <= size["high"]
        answer.cancel()


WHOLE = """(() => {
  const dock = document.getElementById('dock').getBoundingClientRect().top;
  const head = document.querySelector('header').getBoundingClientRect().bottom;
  const whole = (e) => { const b = e.getBoundingClientRect();
    return b.top >= head && b.bottom <= dock && b.left >= 0 && b.right <= innerWidth };
  return [...document.querySelectorAll('#drawings svg, #text')].map(whole);
})()"""


async def test_below_the_table_there_is_no_bar_before_the_first_trial_is_done(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.SET, "Slide the paper.", place=place(trials_done=0))
        await phone.shows("0 of 60")
        assert await phone.look("document.getElementById('progress').hidden")
        answer.cancel()
        await asyncio.wait([answer])
        answer = ask(bench, PromptKind.SET, "Slide it again.", place=place(trials_done=1))
        await phone.shows("1 of 60")
        assert not await phone.look("document.getElementById('progress').hidden")
        answer.cancel()


@pytest.mark.parametrize("size", [SMALL, LITTLE, PHONE])
async def test_bed_and_arc_are_whole_above_the_dock(chromium: Chromium, size: dict[str, int]):
    async with a_phone(chromium, **size) as (bench, phone):
        bench.begin()
        at = place(point="back-right")
        words = wording.turn_away(turned_away(MACHINE, at.point, 300), at, at)
        answer = ask(
            bench,
            PromptKind.CONFIRM,
            words.text,
            place=at,
            deed=words.deed,
            detail=f"{words.once} {wording.CLEAR_HANDS}",
            moves_next=words.moves_next,
        )
        await ready(phone, words.text)
        assert await phone.look(WHOLE) == [True, True, True]
        assert await phone.look("document.getElementById('dock').hasAttribute('data-covers')")
        answer.cancel()


async def test_on_a_desk_the_bed_is_large(chromium: Chromium):
    async with a_phone(chromium, **DESK) as (bench, phone):
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("Slide the paper.")
        high = await phone.look("document.querySelector('.bed').getBoundingClientRect().height")
        assert isinstance(high, int | float)
        assert high > 0.4 * DESK["high"]
        answer.cancel()


@pytest.mark.parametrize("size", [SMALL, LITTLE, PHONE])
@pytest.mark.parametrize(
    ("kind", "text"),
    [(PromptKind.READ, READ_IT), (PromptKind.ZERO, ZERO_IT)],
)
async def test_at_a_simulated_machine_its_indicator_is_shown_and_marked(
    chromium: Chromium, size: dict[str, int], kind: PromptKind, text: str
):
    async with a_phone(chromium, **size) as (bench, phone):
        answer = ask(bench, kind, text, simulated_indicator_mm=-0.02)
        await ready(phone, "Simulated indicator: −0.02 mm")
        assert await phone.look(UNDER_THE_DOCK) == []
        answer_elsewhere(bench, Word.HOLD)
        await answer
        answer = ask(bench, PromptKind.READ, "Read it.")
        await phone.shows("Read it.")
        assert "Simulated" not in await phone.text_of("body")
        answer.cancel()


async def test_at_rest_a_phone_on_its_side_uses_its_whole_width(chromium: Chromium):
    async with a_phone(chromium, **ON_ITS_SIDE) as (_, phone):
        wide = await phone.look("document.querySelector('main').getBoundingClientRect().width")
        assert isinstance(wide, int | float)
        assert wide > 0.9 * ON_ITS_SIDE["wide"]


async def test_hands_out_is_said_large_while_the_machine_may_move_and_beside_done(
    chromium: Chromium,
):
    async with a_phone(chromium, **LITTLE) as (bench, phone):
        bench.begin()
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("Hands out first. After that: The head lifts.")
        answer_elsewhere(bench)
        await answer
        bench.station.desk.tell(Moving(what="The head lifts."))
        await phone.until(
            "document.getElementById('mind').innerText === 'Hands out of the machine.'"
        )
        sizes = await phone.look(
            "['mind', 'text'].map((id) => getComputedStyle(document.getElementById(id)).fontSize)"
        )
        assert isinstance(sizes, list)
        assert sizes[0] == sizes[1]


COUNT_LOCKS = """
  window.locks = 0;
  navigator.wakeLock.request = async () => {
    const lock = new EventTarget();
    lock.release = () => { window.locks -= 1; lock.dispatchEvent(new Event('release')); };
    window.locks += 1;
    return lock;
  };
"""


async def test_where_the_browser_allows_it_the_screen_stays_on_while_a_run_goes_on(
    chromium: Chromium,
):
    async with a_phone(chromium) as (bench, phone):  # this computer counts as safe, like HTTPS
        await phone.look(COUNT_LOCKS)
        bench.begin()
        await phone.until("locks === 1")
        bench.finish()
        await phone.until("locks === 0")


async def test_a_new_prompt_buzzes_unless_switched_off(chromium: Chromium):
    async with a_phone(chromium) as (bench, phone):
        await phone.look("window.buzzes = 0; navigator.vibrate = () => { window.buzzes += 1 }")
        await phone.press("#own-keyboard")
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("Slide the paper.")
        assert await phone.look("buzzes") == 1
        await phone.press("#sound")
        answer_elsewhere(bench)
        await answer
        answer = ask(bench, PromptKind.SET, "Slide it again.")
        await phone.shows("Slide it again.")
        assert await phone.look("buzzes") == 1
        answer.cancel()


async def test_several_machines_are_chosen_between_and_the_one_that_asks_is_named(
    chromium: Chromium,
):
    async with served("sim-220", "sim-tri") as bench, chromium.phones() as phones:
        phone = await opened(phones, bench.url)
        await phone.press_labelled("sim-tri")
        await phone.until("document.getElementById('machine').innerText === 'sim-tri'")
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("asks sim-220")
        await phone.press_labelled("asks sim-220")
        await phone.press("#done")
        assert (await answer).word is Word.DONE


async def test_a_machine_chosen_with_the_keyboard_keeps_the_focus_whatever_comes_in(
    chromium: Chromium,
):
    async with served("sim-220", "sim-tri") as bench, chromium.phones() as phones:
        phone = await opened(phones, bench.url)
        await phone.until("document.querySelectorAll('#machines button').length === 2")
        await phone.look("document.querySelectorAll('#machines button')[1].focus()")
        await phone.key("Enter")
        await phone.until("document.getElementById('machine').innerText === 'sim-tri'")
        answer = ask(bench, PromptKind.SET, "Slide the paper.")
        await phone.shows("asks sim-220")
        assert await phone.look(FOCUSED) == "sim-tri"
        answer.cancel()


async def test_the_machines_stand_in_the_same_order_whichever_changed_last(chromium: Chromium):
    async with served("sim-220", "sim-tri") as bench, chromium.phones() as phones:
        first = await opened(phones, bench.url)
        bench.begin()
        await first.shows("may move")
        second = await opened(phones, bench.url)
        await second.until("document.querySelectorAll('#machines button').length === 2")
        for phone in (first, second):
            assert (await phone.text_of("#machines")).split() == ["sim-220", "sim-tri"]


@pytest.mark.parametrize("path", ["/#%zz", "/#another", "/pair#%zz"])
async def test_an_odd_address_harms_nothing(chromium: Chromium, path: str):
    async with served() as bench, chromium.phones() as phones:
        phone = await phones.open(bench.url + path)
        shown = "Not paired" if "pair" in path else "At rest"
        await phone.shows(shown)


@pytest.mark.parametrize("size", [PHONE, DESK])
async def test_the_browser_has_nothing_to_complain_of(chromium: Chromium, size: dict[str, int]):
    async with a_phone(chromium, **size) as (bench, phone):
        bench.begin()
        for trial in range(4):
            bench.keep(0.01 * trial, trial)
        at = place(point="back-left")
        words = wording.turn_away(turned_away(MACHINE, at.point, 300), at)
        answer = ask(bench, PromptKind.CONFIRM, words.text, place=at, deed=words.deed)
        await phone.press("#done")
        await answer
        bench.finish()
        await phone.shows("Run 3 is complete")
        assert phone.complaints() == []
