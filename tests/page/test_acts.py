"""Acts of a browser, each wrong in exactly one respect, so that no second reason refuses it."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest
from a_deed import A_DEED
from a_place import A_PLACE
from browser_client import browser_at
from page_bench import served

from hostctl.channels.page.acts import MOST_REMEMBERED, MOST_RUNS, Acts
from hostctl.channels.view.data import Json
from hostctl.news import Answer, Prompt, PromptKind, Word
from hostctl.run.station import Station

NOW = datetime(2031, 5, 6, 7, 0, 0, tzinfo=UTC)
PRESSED = NOW.timestamp() * 1000  # as a browser tells it, ms
DONE: Json = {"prompt_id": "1-1", "word": "done", "typed": "", "pressed_at": PRESSED}
TAKEN = (200, "")
LATE = "it took too long on its way; press again if it still holds"

pytestmark = pytest.mark.timeout(10)  # an answer that is not taken is waited for in vain


class AtTheDesk:
    """A station where prompts are opened one after the other, and the acts of browsers."""

    def __init__(self) -> None:
        self.station = Station("bench", now=lambda: NOW, studies=lambda: ["small"])
        self.station.reachable = True
        self.acts = Acts(lambda: NOW)

    async def asked(self, kind: PromptKind = PromptKind.SET, prompt_id: str = "1-1"):
        prompt = Prompt(
            prompt_id=prompt_id,
            deed=A_DEED[kind],
            text="Set the gap.",
            detail="",
            moves_next="",
            place=A_PLACE,
            opened_at=NOW - timedelta(seconds=1),
            resolution_mm=0.01 if kind is PromptKind.READ else None,
        )
        answer = asyncio.create_task(self.station.desk.ask(prompt))
        await asyncio.sleep(0)
        return answer

    async def says(self, said: Json, browser: str = "a") -> tuple[int, str]:
        outcome = await self.acts.answer(self.station, said, browser)
        return outcome.status, outcome.reason

    async def starts(self, said: Json) -> tuple[int, str]:
        outcome = await self.acts.start(self.station, {"pressed_at": PRESSED} | said)
        return outcome.status, outcome.reason


@pytest.fixture
def at() -> AtTheDesk:
    return AtTheDesk()


async def test_what_is_right_in_every_respect_counts(at: AtTheDesk):
    answer = await at.asked()
    assert await at.says(DONE) == TAKEN
    assert await answer == Answer(
        prompt_id="1-1", word=Word.DONE, channel="phone page", given_at=NOW
    )


@pytest.mark.parametrize(
    ("wrong", "refused"),
    [
        ({"word": "fire"}, (400, "that is no answer")),
        ({"word": None}, (400, "that is no answer")),
        ({"word": 1}, (400, "that is no answer")),
        ({"typed": 5}, (400, "that is no answer")),
        ({"typed": None}, (400, "that is no answer")),
        ({"prompt_id": 7}, (400, "that is no answer")),
        ({"prompt_id": ["1-1"]}, (400, "that is no answer")),
        ({"prompt_id": None}, (400, "an answer needs the prompt's id")),
        ({"prompt_id": "1-2"}, (409, "it belongs to another prompt")),
        ({"pressed_at": None}, (400, "it does not say when it was pressed")),
        ({"pressed_at": "now"}, (400, "it does not say when it was pressed")),
        ({"pressed_at": 1e14}, (400, "it does not say when it was pressed")),
        ({"pressed_at": -1e14}, (400, "it does not say when it was pressed")),
    ],
)
async def test_what_is_wrong_in_one_respect_is_refused_for_that(at, wrong, refused):
    answer = await at.asked()
    assert await at.says(DONE | wrong) == refused
    assert not answer.done()
    assert await at.says(DONE) == TAKEN  # nothing of it sticks
    await answer


LIT: Json = DONE | {"word": "chosen", "choice": "lit"}


async def test_a_choice_counts_once_and_the_same_again_is_taken_as_the_same(at: AtTheDesk):
    answer = await at.asked(PromptKind.CHOOSE)
    assert await at.says(LIT) == TAKEN
    assert (await answer).choice == "lit"
    assert await at.says(LIT) == TAKEN
    assert await at.says(LIT | {"choice": "dark"}) == (409, "this prompt was answered already")


@pytest.mark.parametrize(
    ("wrong", "refused"),
    [
        ({"choice": "slack"}, (409, "it is none of: dark, lit")),
        ({"choice": ""}, (409, "it is none of: dark, lit")),
        ({"choice": 1}, (400, "that is no answer")),
        ({"choice": None}, (400, "that is no answer")),
        ({"word": "done"}, (409, "say which it is: dark, lit")),
        ({"prompt_id": None}, (400, "an answer needs the prompt's id")),
        ({"prompt_id": "1-0"}, (409, "it belongs to another prompt")),
        ({"pressed_at": PRESSED - 11_000}, (409, LATE)),
    ],
)
async def test_a_choice_wrong_in_one_respect_moves_nothing(at: AtTheDesk, wrong, refused):
    answer = await at.asked(PromptKind.CHOOSE)
    assert await at.says(LIT | wrong) == refused
    assert not answer.done()
    assert await at.says(LIT) == TAKEN
    await answer


async def test_there_is_nothing_to_choose_where_a_deed_is_done(at: AtTheDesk):
    answer = await at.asked()
    assert await at.says(LIT) == (409, "there is nothing to choose now")
    answer.cancel()


@pytest.mark.parametrize("wrong", [{"typed": 5}, {"prompt_id": 7}, {"typed": []}])
async def test_a_hold_that_is_no_answer_is_refused_too(at, wrong):
    answer = await at.asked()
    assert await at.says({"word": "hold"} | wrong) == (400, "that is no answer")
    assert not answer.done()
    answer.cancel()


@pytest.mark.parametrize("word", ["hold", "end"])
async def test_stopping_needs_no_prompt_and_no_time(at, word):
    answer = await at.asked()
    assert await at.says({"word": word}) == TAKEN
    assert (await answer).prompt_id is None


async def test_the_hold_button_holds_and_says_so_and_without_a_run_it_says_that(at):
    outcome = await at.acts.hold(at.station, "a")
    assert (outcome.status, outcome.reason) == (409, "no run is going on")
    answer = await at.asked()
    assert (await at.acts.hold(at.station, "a")).status == 200
    assert (await answer).word == "hold"


@pytest.mark.parametrize("word", ["hold", "end"])
async def test_stopping_counts_though_its_prompt_is_over(at, word):
    answer = await at.asked(prompt_id="1-2")
    assert await at.says({"word": word, "prompt_id": "1-1"}) == TAKEN
    assert (await answer).word == word


@pytest.mark.parametrize(
    ("age_s", "counts"),
    [(9.9, True), (10.0, True), (10.1, False), (-4.9, True), (-5.0, True), (-5.1, False)],
)
async def test_a_press_counts_for_ten_seconds_and_a_phones_clock_may_be_five_ahead(
    at, age_s, counts
):
    answer = await at.asked()
    assert (await at.says(DONE | {"pressed_at": PRESSED - age_s * 1000}) == TAKEN) == counts
    answer.cancel()


async def test_what_was_refused_once_is_refused_again_and_then_can_be_put_right(at):
    answer = await at.asked(PromptKind.READ)
    reading = DONE | {"word": "reading", "typed": "two"}
    for _ in range(2):
        assert await at.says(reading) == (409, "it holds no number")
    assert await at.says(reading | {"typed": "0.02"}) == TAKEN
    assert (await answer).reading_mm == 0.02


async def test_an_answer_taken_is_told_so_again_to_its_own_browser_alone_and_for_its_own_words(at):
    await_first = await at.asked()
    await at.says(DONE)
    await await_first
    over = (409, "this prompt was answered already")
    assert await at.says(DONE) == TAKEN
    assert await at.says(DONE, browser="b") == over
    assert await at.says(DONE | {"word": "skip"}) == over
    assert await at.says(DONE | {"typed": "0.02"}) == over
    assert (await at.says(DONE | {"prompt_id": "1-0"}))[0] == 409


async def test_a_hold_does_not_make_an_earlier_answer_forgotten(at):
    first = await at.asked()
    await at.says(DONE)
    await first
    second = await at.asked(prompt_id="1-2")
    assert await at.says({"word": "hold", "prompt_id": "1-1"}) == TAKEN
    await second
    assert await at.says(DONE) == TAKEN


async def test_a_refused_answer_of_this_browser_is_not_taken_for_one_that_counted(at):
    answer = await at.asked()
    await at.says(DONE | {"prompt_id": "1-2"})
    assert await at.says(DONE | {"prompt_id": "1-2"}) == (409, "it belongs to another prompt")
    answer.cancel()


async def test_the_oldest_answers_are_forgotten(at):
    for number in range(MOST_REMEMBERED + 1):
        answer = await at.asked(prompt_id=f"1-{number}")
        await at.says(DONE | {"prompt_id": f"1-{number}"})
        await answer
    assert await at.says(DONE | {"prompt_id": "1-1"}) == TAKEN
    assert (await at.says(DONE | {"prompt_id": "1-0"}))[0] == 409


# ------------------------------------------------------------------ starting


@pytest.mark.parametrize("said", [{"study": "small"}, {"resume": 1}, {"resume": MOST_RUNS}])
async def test_an_armed_machine_takes_a_start(at, said):
    at.station.arm("button")
    assert await at.starts(said) == TAKEN
    assert at.station.queued == 1


@pytest.mark.parametrize(
    "said",
    [
        {"study": 5},
        {"study": ["small"]},
        {"study": "small", "resume": "1"},
        {"resume": 0},
        {"resume": -1},
        {"resume": True},
        {"resume": 1.0},
        {"resume": MOST_RUNS + 1},
    ],
)
async def test_what_names_no_study_and_no_run_is_refused_and_the_arming_stays(at, said):
    at.station.arm("button")
    assert await at.starts(said) == (400, "name a study, or the number of a run to go on with")
    assert (at.station.queued, at.station.arming.armed is not None) == (0, True)


@pytest.mark.parametrize("pressed_at", [None, PRESSED - 11_000])
async def test_a_start_pressed_too_long_ago_starts_nothing_and_the_arming_stays(at, pressed_at):
    at.station.arm("button")
    assert (await at.starts({"study": "small", "pressed_at": pressed_at}))[0] in (400, 409)
    assert (at.station.queued, at.station.arming.armed is not None) == (0, True)


@pytest.mark.parametrize("code", [None, 1234, "1" * 21])
async def test_what_is_no_room_code_is_no_wrong_guess_either(at, code):
    at.station.on_show_code.add(lambda shown: None)
    at.station.show_code()
    outcome = await at.acts.arm(at.station, {"code": code})
    assert (outcome.status, outcome.reason) == (400, "type the digits that the machine shows")


async def test_a_room_code_that_is_right_arms_and_one_that_is_wrong_does_not(at):
    shown: list[str] = []
    at.station.on_show_code.add(lambda code: shown.append(code.code))
    at.station.show_code()
    wrong = "0000" if shown[0] != "0000" else "1111"
    assert (await at.acts.arm(at.station, {"code": wrong})).status == 409
    assert at.station.arming.armed is None
    assert (await at.acts.arm(at.station, {"code": shown[0]})).status == 200
    assert at.station.arming.armed is not None


# ------------------------------------------------------------------ through the server

WHOLE: Json = {"word": "done", "prompt_id": "1-1", "study": "rig-check", "code": "1234"}


@pytest.mark.parametrize("path", ["/answer", "/hold", "/halt", "/start", "/arm", "/show-code"])
@pytest.mark.parametrize("machine", ["another", {}, None, 7])
async def test_what_names_no_machine_known_here_is_refused_for_that_alone(path, machine):
    async with served() as bench, browser_at(bench.url) as browser:
        await browser.enter()
        pressed_at = datetime.now(UTC).timestamp() * 1000
        said = WHOLE | {"machine": machine, "pressed_at": pressed_at}
        refused = (400, "that names no machine known here")
        assert await browser.post(path, said) == refused
        assert bench.halted == []


@pytest.mark.parametrize("path", ["/answer", "/hold", "/halt", "/start", "/arm", "/show-code"])
async def test_nothing_is_done_for_a_browser_without_its_token(path):
    async with served() as bench, browser_at(bench.url) as browser:
        await browser.enter()
        browser.token = "0" * 32
        pressed_at = datetime.now(UTC).timestamp() * 1000
        said = WHOLE | {"machine": "sim-220", "pressed_at": pressed_at}
        assert (await browser.post(path, said))[0] == 401
        assert bench.halted == []
