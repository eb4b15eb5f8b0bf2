"""A prompt with a choice, way in by way in: who can say which of several it is, and who can't."""

import asyncio
import json
import os
import string
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from typing import get_args

import pytest
from a_place import A_PLACE

from hostctl.channels.button.key_codes import WORDS as PAD_WORDS
from hostctl.channels.button.keys import Typist
from hostctl.channels.json_lines.incoming import Malformed, answer_from
from hostctl.channels.messages.outgoing import Outgoing
from hostctl.channels.messages.topics import Topics
from hostctl.channels.news_lines import line_for
from hostctl.channels.page.live.lately import Lately
from hostctl.channels.page.live.on_page import on_page
from hostctl.channels.terminal.draw import PLAIN, Look, draw
from hostctl.channels.terminal.keys import (
    LONGEST_BEFORE_REPEAT_S,
    TOO_SOON,
    TWICE,
    Act,
    Answered,
    Keys,
    Said,
)
from hostctl.channels.terminal.lines import Lines
from hostctl.channels.typed_reading import like, wanted_number
from hostctl.channels.view.seen import prompt_view, view_of, view_of_run
from hostctl.channels.view.simulated import simulated
from hostctl.choices import choices_of
from hostctl.cli.status_lines import PLAIN as NO_TONES
from hostctl.cli.status_lines import lines_of
from hostctl.daemon.socket.asked import _take_answer
from hostctl.daemon.socket.requests import Reply
from hostctl.deeds import (
    ClearAway,
    Deed,
    JoinByHand,
    JoinLamp,
    MeterLeads,
    PressPlunger,
    SayHeatAgain,
    TryBlade,
    WatchLamp,
    WatchLeads,
)
from hostctl.input_events.events import KeyDown
from hostctl.news import Answer, Prompt, PromptOpened, RunStarted, Word
from hostctl.run.desk import Desk
from hostctl.run.record.course import Course, course_after
from hostctl.run.station import Station

NOW = datetime(2026, 11, 29, tzinfo=UTC)
OPENED_S = 100.0
LATER_S = OPENED_S + 5.0
CHOICES: list[Deed] = [
    WatchLamp(),
    JoinByHand(joined=True, by_eye=True),
    JoinLamp(by_eye=True),
    MeterLeads(),
    WatchLeads(),
    PressPlunger(),
    SayHeatAgain(),
]
LAMP = Prompt(
    prompt_id="1-9-c",
    deed=WatchLamp(),
    text="Is the lamp dark or lit?",
    detail="Nozzle at 0.35 mm, down in steps of 0.05 mm; not below 0.12 mm.",
    moves_next="Dark: the nozzle goes down one step. Lit: it rises at once.",
    place=replace(A_PLACE, block=5, method="tie"),
    opened_at=NOW,
    resolution_mm=None,
)
BLADE = replace(LAMP, deed=TryBlade(which="largest-in"), text="Try it.", resolution_mm=0.01)
STARTED = RunStarted(run=1, study="true-gap", machine="bench", trials_total=60, resumed=False)


def view_with(prompt: Prompt):
    course = Course()
    for news in (STARTED, PromptOpened(prompt=prompt)):
        course = course_after(course, news, lambda: 0.0)
    return view_of_run(course)


# ------------------------------------------------------------------ the full screen's keys


def pressed(keys: list[tuple[str, float]], deed: Deed = LAMP.deed) -> list[Act | None]:
    """What each key means, s after the prompt was opened; the prompt stays."""
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    asked = prompt_view(replace(LAMP, deed=deed))
    return [keyboard.press(key, asked, OPENED_S + at_s) for key, at_s in keys]


@pytest.mark.parametrize("deed", CHOICES, ids=lambda deed: deed.do)
def test_each_choice_has_its_key_and_no_other_key_says_one(deed: Deed):
    keys = {choice.key: choice.word for choice in choices_of(deed)}
    for key in string.printable:
        (act,) = pressed([(key, 5.0)], deed)
        chosen = act.choice if isinstance(act, Answered) else None
        assert chosen == keys.get(key.lower())
        assert not (isinstance(act, Answered) and act.word is Word.DONE)


@pytest.mark.parametrize("deed", CHOICES, ids=lambda deed: deed.do)
def test_no_key_of_a_choice_means_something_else_where_nothing_is_to_be_chosen(deed: Deed):
    confirm = prompt_view(replace(LAMP, deed=ClearAway()))
    for choice in choices_of(deed):
        keyboard = Keys()
        keyboard.prompt_opened(OPENED_S)
        assert keyboard.press(choice.key, confirm, LATER_S) is None


def test_enter_says_which_keys_there_are():
    (act,) = pressed([("\r", 5.0)])
    assert act == Said("Enter does not say which it is: press d for dark, l for lit.")


def test_a_number_typed_first_does_not_make_enter_an_answer():
    acts = pressed([("0", 5.0), ("\r", 6.0), ("\r", 7.0)])
    assert all(isinstance(act, Said) for act in acts)


def test_skip_and_redo_keep_their_keys_beside_a_choice():
    acts = pressed([("s", 5.0), ("s", 5.5), ("r", 6.0), (" ", 7.0)], WatchLeads())
    assert acts == [Said(TWICE["s"]), *map(Answered, (Word.SKIP, Word.REDO, Word.HOLD))]


@pytest.mark.parametrize("key", ["d", "l", "D"])
def test_a_key_within_half_a_second_of_the_prompt_says_nothing(key: str):
    assert pressed([(key, 0.4)]) == [TOO_SOON]


@pytest.mark.parametrize("before_s", [0.25, 0.5, 0.66, 1.0])
@pytest.mark.parametrize("a_second", [2.0, 10.9, 30.0])
@pytest.mark.parametrize("step_s", [0.05, 0.3, 0.7])
def test_a_key_held_down_steps_once_however_its_keyboard_repeats(
    before_s: float, a_second: float, step_s: float
):
    """Its prompt is answered, the nozzle steps, the next prompt comes: each time anew."""
    keyboard, counted = Keys(), 0
    asked = prompt_view(LAMP)
    keyboard.prompt_opened(OPENED_S)
    opened_s, at_s = OPENED_S, LATER_S
    while at_s < LATER_S + 30:
        act = keyboard.press("d", asked if at_s >= opened_s else None, at_s)
        if isinstance(act, Answered):
            counted += 1
            opened_s = at_s + step_s
            keyboard.prompt_opened(opened_s)
        at_s += before_s if at_s == LATER_S else 1 / a_second
    assert counted == 1


def test_somebody_who_presses_once_a_prompt_is_never_kept_waiting():
    keyboard = Keys()
    asked = prompt_view(LAMP)
    for turn in range(20):
        opened_s = OPENED_S + turn * (LONGEST_BEFORE_REPEAT_S + 0.1)
        keyboard.prompt_opened(opened_s)
        act = keyboard.press("d", asked, opened_s + 0.6)
        assert act == Answered(Word.CHOSEN, choice="dark")


def test_lit_may_follow_dark_at_once():
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    keyboard.press("d", prompt_view(LAMP), LATER_S)
    keyboard.prompt_opened(LATER_S + 0.1)
    act = keyboard.press("l", prompt_view(LAMP), LATER_S + 0.7)
    assert act == Answered(Word.CHOSEN, choice="lit")


# ------------------------------------------------------------------ the full screen


@pytest.mark.parametrize("look", [Look(), PLAIN, replace(PLAIN, ascii_alone=True)])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (80, 16), (60, 14), (40, 16)])
@pytest.mark.parametrize("deed", CHOICES, ids=lambda deed: deed.do)
def test_the_keys_of_a_choice_are_always_on_the_screen(
    deed: Deed, columns: int, rows: int, look: Look
):
    view = view_with(replace(LAMP, deed=deed))
    shown = draw(view, note="Not taken.", typed="", columns=columns, rows=rows, look=look)
    text = " ".join(" ".join(shown).split())
    for choice in choices_of(deed):
        assert f"[{choice.key}] {choice.text.split()[0]}" in text  # a line of its own
        assert f"[{choice.key}] {choice.word}" in text  # among the keys
    assert "[enter]" not in text
    assert "[x] stop now" in text
    assert len(shown) == rows


def test_the_question_about_the_lamp_is_large():
    assert view_with(LAMP).headline == "DARK OR LIT?"
    shown = draw(view_with(LAMP), note="", typed="", columns=80, rows=24, look=PLAIN)
    assert sum("█" in line for line in shown) >= 2


@pytest.mark.parametrize(
    ("deed", "headline"),
    [
        (WatchLeads(), "SLACK OR PULLED?"),
        (JoinByHand(joined=True, by_eye=True), "JOIN THEM"),
        (JoinByHand(joined=False, by_eye=False), "PART THEM"),
        (MeterLeads(), "METER LEADS"),
        (JoinLamp(by_eye=True), "JOIN LAMP"),
        (JoinLamp(by_eye=False), "JOIN COUPLER"),
        (TryBlade(which="smallest-out"), "HOW THICK?"),
        (ClearAway(), "CLEAR AWAY"),
    ],
)
def test_a_deed_of_the_tie_is_named_large_even_where_it_belongs_to_no_trial(
    deed: Deed, headline: str
):
    view = view_with(replace(LAMP, deed=deed, place=None))
    assert view.headline == headline
    assert on_page(view, Course().last_block, Lately())["headline"].upper() == headline


# ------------------------------------------------------------------ plain lines


async def typed_into_lines(*lines: str, prompt: Prompt = LAMP) -> tuple[Answer | None, str]:
    """What comes of lines typed after the prompt was printed, and all that was printed."""
    keyboard, to_it = os.pipe()
    from_it, screen = os.pipe()
    desk = Desk()
    serving = asyncio.create_task(
        Lines(keyboard, screen, stop_now=lambda: None).serve(desk), name="lines"
    )
    asking = asyncio.create_task(desk.ask(prompt))
    shown = (await asyncio.to_thread(os.read, from_it, 65536)).decode()
    for line in lines:
        os.write(to_it, f"{line}\n".encode())
        done, _ = await asyncio.wait(
            [asking, asyncio.create_task(asyncio.to_thread(os.read, from_it, 65536))],
            return_when=asyncio.FIRST_COMPLETED,
        )
        shown += "".join(one.result().decode() for one in done if one is not asking)
    serving.cancel()
    asking_done = asking.done()
    os.write(screen, b"\n")  # whoever still reads it comes back
    asking.cancel()
    with suppress(asyncio.CancelledError):
        await serving
    return (asking.result() if asking_done else None), shown


async def test_the_word_is_typed_where_there_is_no_screen():
    answer, shown = await typed_into_lines("lit")
    assert answer is not None
    assert (answer.word, answer.choice) == (Word.CHOSEN, "lit")
    assert "(dark or lit; redo, skip, hold, end, stop)" in shown


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("done", "Not taken: say which it is: dark, lit."),
        ("0.02", "Not taken: say which it is: dark, lit."),
        ("d", "'d' is neither a number nor one of: dark, lit, done,"),
        ("", "'' is neither a number nor one of: dark, lit, done,"),
        ("chosen", "'chosen' is neither a number nor one of: dark, lit, done,"),
        ("slack", "'slack' is neither a number nor one of: dark, lit, done,"),
    ],
)
async def test_any_other_line_is_no_choice(line: str, said: str):
    answer, shown = await typed_into_lines(line)
    assert answer is None
    assert said in shown


# ------------------------------------------------------------------ JSON lines


def test_a_choice_comes_as_a_line_of_json():
    said = answer_from(b'{"choice":"lit","prompt_id":"1-9-c"}', channel="json-lines", now=NOW)
    assert isinstance(said, Answer)
    assert (said.word, said.choice, said.prompt_id) == (Word.CHOSEN, "lit", "1-9-c")


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ({"choice": "lit"}, "only hold and end go without a prompt_id"),
        ({"choice": 1, "prompt_id": "p"}, "choice is not text"),
        ({"choice": "lit", "reading_mm": 1, "prompt_id": "p"}, "give one of answer, choice and"),
        ({"choice": "lit", "answer": "done", "prompt_id": "p"}, "give one of answer, choice and"),
        ({"answer": "chosen", "prompt_id": "p"}, "answer must be one of: done, redo, skip, hold"),
    ],
)
def test_a_line_that_says_a_choice_badly_is_refused(line: dict[str, object], reason: str):
    said = answer_from(json.dumps(line).encode(), channel="json-lines", now=NOW)
    assert isinstance(said, Malformed)
    assert said.reason.startswith(reason)


# ------------------------------------------------------------------ those that can't say it


async def refused_by(act: Callable[[Desk], None]) -> list[str]:
    """What the desk refuses while the lamp is asked for; nothing of it may count."""
    desk, refused = Desk(), []
    desk.on_refusal.add(lambda news: refused.append(news.reason))
    asking = asyncio.create_task(desk.ask(LAMP))
    await asyncio.sleep(0)
    act(desk)
    await asyncio.sleep(0)
    assert not asking.done()
    asking.cancel()
    return refused


THERE = "say which it is at the terminal or on the phone page: dark, lit"


@pytest.mark.parametrize("word", [Word.DONE, Word.READING, Word.CHOSEN])
@pytest.mark.parametrize("choice", [None, "dark", "lit"])
async def test_a_way_in_without_ids_never_answers_it(word: Word, choice: str | None):
    answer = Answer(
        prompt_id=None,
        word=word,
        reading_mm=0.02 if word is Word.READING else None,
        choice=choice,
        channel="button",
        given_at=NOW,
        given_s=1e12,
    )
    assert await refused_by(lambda desk: desk.answer(answer)) == [THERE]


async def test_no_key_of_a_number_pad_answers_it():
    def all_keys(desk: Desk) -> None:
        typist = Typist(desk, "keys", in_graduations=False)
        typist.clock = lambda: 0.0
        for code in range(1, 0x200):
            if PAD_WORDS.get(code) not in (Word.HOLD, Word.REDO, Word.SKIP):
                typist.key(KeyDown(code=code, at_s=0.0))

    assert set(await refused_by(all_keys)) == {THERE}


async def station_asking(prompt: Prompt = LAMP) -> tuple[Station, "asyncio.Task[Answer]"]:
    station = Station("bench", now=lambda: NOW, studies=list)
    station.reachable = True
    asking = asyncio.create_task(station.desk.ask(prompt))
    await asyncio.sleep(0)
    return station, asking


@pytest.mark.parametrize("text", ["dark", "lit", "done", "0.02", "d", "chosen", "LIT"])
@pytest.mark.parametrize("prompt_id", [None, "1-9-c"])
async def test_the_command_line_can_not_say_it(
    text: str, prompt_id: str | None, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("hostctl.daemon.socket.asked.FRESH_S", -1.0)  # the prompt is no new one
    station, asking = await station_asking()
    told = await _take_answer(station, Reply(ask="answer", text=text, prompt_id=prompt_id))
    assert told == {"ok": False, "reason": THERE, "next_step": "To hold it from here: hostctl hold"}
    assert not asking.done()
    asking.cancel()


async def test_status_says_where_it_is_answered():
    shown = " ".join(lines_of(view_with(LAMP), width=300, tones=NO_TONES))
    assert "Answer at the terminal or on the phone page: dark or lit" in shown
    assert "hostctl answer takes redo, skip, hold, end" in shown


async def test_a_message_lists_no_choice_among_its_answers():
    station, asking = await station_asking()
    outgoing = Outgoing(station, Topics("bench"), now=lambda: NOW)
    assert json.loads(outgoing.prompt())["answers"] == ["redo", "skip"]
    view = view_of(station).prompt
    assert view is not None
    assert view.answers == ("dark", "lit", "redo", "skip")
    assert view.choices == choices_of(WatchLamp())
    asking.cancel()


# ------------------------------------------------------------------ what a simulated lamp shows


@pytest.mark.parametrize(
    ("contact", "says"), [(True, "Simulated lamp: lit"), (False, "Simulated lamp: dark")]
)
async def test_a_simulated_lamp_is_shown_everywhere(contact: bool, says: str):
    prompt = replace(LAMP, simulated_contact=contact)
    station, asking = await station_asking(prompt)
    view = view_with(prompt)
    assert simulated(prompt) == says
    assert says in line_for(PromptOpened(prompt=prompt))
    assert says in " ".join(lines_of(view, width=80, tones=NO_TONES))
    assert says in "\n".join(draw(view, note="", typed="", columns=80, rows=24, look=PLAIN))
    assert on_page(view_of(station), Course().last_block, Lately())["simulated"] == says
    asking.cancel()


def test_a_real_lamp_is_looked_at():
    assert simulated(LAMP) == ""


# ------------------------------------------------------------------ how thick a blade is


def test_a_blade_is_asked_for_by_its_thickness():
    keyboard = Keys()
    keyboard.prompt_opened(OPENED_S)
    act = keyboard.press("\r", prompt_view(BLADE), LATER_S)
    assert act == Said("Type how thick the blade is first: 0.10 or 0.20 mm.")
    assert "(its thickness in mm; redo" in line_for(PromptOpened(prompt=BLADE))
    assert wanted_number(prompt_view(BLADE)) == "how thick the blade is"
    assert like(replace(BLADE, resolution_mm=0.005)) == "0.050 or 0.100 mm"


@pytest.mark.parametrize("value_mm", [0.0, -0.1])
async def test_no_blade_is_as_thick_as_nothing(value_mm: float):
    station, asking = await station_asking(BLADE)
    told = station.desk.take(
        Answer(
            prompt_id=BLADE.prompt_id,
            word=Word.READING,
            reading_mm=value_mm,
            channel="terminal",
            given_at=NOW,
        )
    )
    assert told == "a blade is thicker than nothing"
    asking.cancel()


async def test_a_number_pad_that_counts_graduations_takes_a_blades_thickness_in_mm():
    station, asking = await station_asking(BLADE)
    typist = Typist(station.desk, "keys", in_graduations=True)
    typist.clock = lambda: 0.0
    for code in (82, 83, 79):  # 0.1
        typist.key(KeyDown(code=code, at_s=-1e-9))
    await asyncio.sleep(0.001)
    typist.key(KeyDown(code=96, at_s=0.0))
    answer = await asyncio.wait_for(asking, 5)
    assert answer.reading_mm == 0.1


def test_the_choices_stand_for_every_deed_that_has_some():
    plain = [kind for kind in get_args(Deed) if kind not in {type(each) for each in CHOICES}]
    assert all(choices_of(each) for each in CHOICES)
    assert not any(choices_of(kind.__new__(kind)) for kind in plain)
