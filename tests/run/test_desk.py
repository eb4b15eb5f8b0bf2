"""The desk: one open prompt at most, the first valid answer wins, stale ones move nothing."""

import asyncio
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from a_deed import A_DEED
from a_place import A_PLACE
from jumping_loop import in_jumping_time

from hostctl.errors import LinkError, StoreError
from hostctl.news import (
    Answer,
    AnswerRefused,
    HoldBegan,
    HoldLifted,
    Moving,
    Prompt,
    PromptClosed,
    PromptKind,
    PromptOpened,
    RunFinished,
    RunStarted,
    Word,
)
from hostctl.records import Place
from hostctl.run.desk import NEWS_KEPT_FOR_A_SLOW_CHANNEL, Accepted, Desk, Refused

OPENED = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)
A_SECOND = timedelta(seconds=1)


def place(trial: int = 3) -> Place:
    return replace(A_PLACE, trial=trial, trials_done=2, trials_total=5)


def prompt(
    prompt_id: str = "p1", kind: PromptKind = PromptKind.CONFIRM, at: Place | None = None
) -> Prompt:
    return Prompt(
        prompt_id=prompt_id,
        deed=A_DEED[kind],
        text="Do it.",
        detail="",
        moves_next="",
        place=at,
        opened_at=OPENED,
        resolution_mm=None,
    )


def answer(
    word: Word = Word.DONE,
    prompt_id: str | None = "p1",
    reading_mm: float | None = None,
    *,
    channel: str = "terminal",
    given_s: float | None = 1.0,
) -> Answer:
    return Answer(
        prompt_id=prompt_id,
        word=word,
        reading_mm=reading_mm,
        channel=channel,
        given_at=OPENED - A_SECOND,  # the clock on the wall may have been set back
        given_s=given_s,
    )


async def laid_out(desk: Desk, tasks: asyncio.TaskGroup, asked: Prompt) -> asyncio.Task[Answer]:
    """The prompt, open."""
    asking = tasks.create_task(desk.ask(asked))
    await asyncio.sleep(0)
    return asking


def handed_in(asked: Prompt, *answers: Answer) -> tuple[list[Accepted | Refused], Answer | None]:
    """What the desk says to each answer while `asked` is open, and what the asker gets."""
    desk = Desk()

    async def hand_in() -> tuple[list[Accepted | Refused], Answer | None]:
        async with asyncio.TaskGroup() as tasks:
            asking = await laid_out(desk, tasks, asked)
            said = [desk.answer(one) for one in answers]
            await asyncio.sleep(0)
            got = asking.result() if asking.done() else None
            asking.cancel()
        return said, got

    return in_jumping_time(hand_in())


READ = prompt(kind=PromptKind.READ, at=place())
ZERO = prompt(kind=PromptKind.ZERO, at=place(0))
CONFIRM = prompt(at=place())
GENERAL = prompt()


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        (CONFIRM, answer()),
        (READ, answer(Word.READING, reading_mm=0.02)),
        (ZERO, answer()),
        (ZERO, answer(Word.READING, reading_mm=-0.31)),
        (CONFIRM, answer(Word.REDO)),
        (CONFIRM, answer(Word.SKIP)),
        (READ, answer(Word.REDO)),
        (GENERAL, answer(Word.HOLD)),
        (GENERAL, answer(Word.END, "an old one")),  # stopping works with any id, or none
        (GENERAL, answer(Word.HOLD, None, given_s=None)),
        (CONFIRM, answer(prompt_id=None)),  # a button, pressed after the prompt was shown
    ],
)
def test_an_answer_to_what_is_asked_counts(asked, given):
    said, got = handed_in(asked, given)
    assert said == [Accepted()]
    assert got == given


@pytest.mark.parametrize(
    ("asked", "given", "why"),
    [
        (CONFIRM, answer(prompt_id="p0"), "it belongs to another prompt"),
        (CONFIRM, answer(prompt_id=""), "it belongs to another prompt"),
        (
            CONFIRM,
            answer(prompt_id=None, given_s=0.0),
            "it was given before the prompt was shown",
        ),
        (
            CONFIRM,
            answer(prompt_id=None, given_s=-1.0),
            "it was given before the prompt was shown",
        ),
        (
            CONFIRM,
            answer(prompt_id=None, given_s=None),
            "it was given before the prompt was shown",
        ),
        (CONFIRM, answer(Word.READING, reading_mm=0.02), "no reading is asked for now"),
        (READ, answer(), "a reading is asked for: say what the indicator shows"),
        (READ, answer(Word.READING), "it holds no number"),
        (READ, answer(Word.READING, reading_mm=float("nan")), "it holds no number"),
        (READ, answer(Word.READING, reading_mm=float("inf")), "it holds no number"),
        (GENERAL, answer(Word.REDO), "this question belongs to no trial"),
        (GENERAL, answer(Word.SKIP), "this question belongs to no trial"),
        (ZERO, answer(Word.SKIP), "a block can't do without its zero"),
    ],
)
def test_anything_else_is_refused_and_the_prompt_stays_open(asked, given, why):
    said, got = handed_in(asked, given)
    assert said == [Refused(reason=why)]
    assert got is None


def test_the_first_valid_answer_wins_whichever_channel_it_came_on():
    button = answer(prompt_id=None, channel="button")
    phone = answer(channel="phone")
    said, got = handed_in(CONFIRM, answer(prompt_id="stale"), button, phone, button)
    assert [type(one) for one in said] == [Refused, Accepted, Refused, Refused]
    assert said[2] == Refused(reason="an answer to it is being kept")
    assert got == button


def test_an_answer_to_a_closed_prompt_is_refused_for_good():
    desk = Desk()

    async def ask_twice() -> list[Accepted | Refused]:
        async with asyncio.TaskGroup() as tasks:
            first = await laid_out(desk, tasks, prompt("p1"))
            desk.answer(answer())
            await first
            second = await laid_out(desk, tasks, prompt("p2"))
            said = [desk.answer(answer()), desk.answer(answer(prompt_id="p2"))]
            await second
        return [*said, desk.answer(answer())]

    assert in_jumping_time(ask_twice()) == [
        Refused(reason="it belongs to another prompt"),
        Accepted(),
        Refused(reason="this prompt was answered already"),
    ]


@pytest.mark.parametrize("word", [Word.DONE, Word.REDO, Word.SKIP])
async def test_with_nothing_asked_an_answer_is_refused(word):
    assert Desk().answer(answer(word, "p9")) == Refused(reason="nothing is asked now")


@pytest.mark.parametrize("word", [Word.HOLD, Word.END])
async def test_with_no_run_there_is_nothing_to_stop(word):
    assert Desk().answer(answer(word)) == Refused(reason="no run is going on")


@pytest.mark.parametrize("word", [Word.HOLD, Word.END])
def test_a_stop_while_nothing_is_asked_goes_to_the_run(word):
    desk, heard = Desk(), []
    desk.on_stop.add(heard.append)
    assert desk.answer(answer(word)) == Accepted()
    assert heard == [answer(word)]


def test_a_stop_right_after_an_answer_goes_to_the_run_and_is_not_lost():
    """The prompt is answered, but the run has not yet taken the answer up."""
    desk, heard = Desk(), []
    desk.on_stop.add(heard.append)

    async def answer_then_hold() -> Answer:
        async with asyncio.TaskGroup() as tasks:
            asking = await laid_out(desk, tasks, GENERAL)
            desk.answer(answer())
            assert desk.answer(answer(Word.HOLD)) == Accepted()
        return asking.result()

    assert in_jumping_time(answer_then_hold()).word is Word.DONE
    assert heard == [answer(Word.HOLD)]


def test_only_one_thing_is_asked_at_a_time():
    desk = Desk()

    async def ask_two() -> None:
        async with asyncio.TaskGroup() as tasks:
            asking = await laid_out(desk, tasks, prompt("p1"))
            with pytest.raises(RuntimeError, match="p1 is still open"):
                await desk.ask(prompt("p2"))
            asking.cancel()

    in_jumping_time(ask_two())
    assert desk.open_prompt is None


def test_a_fault_withdraws_the_prompt_and_an_answer_comes_too_late():
    desk, fault = Desk(), LinkError("port", "unplugged", "Plug it in.")

    async def withdraw() -> Accepted | Refused:
        async with asyncio.TaskGroup() as tasks:

            async def ask() -> None:
                with pytest.raises(LinkError, match="unplugged"):
                    await desk.ask(GENERAL)

            tasks.create_task(ask())
            await asyncio.sleep(0)
            desk.withdraw(fault)
            return desk.answer(answer())

    assert in_jumping_time(withdraw()) == Refused(reason="it was withdrawn")
    desk.withdraw(fault)  # nothing is open: nothing happens


def test_a_channel_that_comes_late_is_told_where_things_stand():
    desk = Desk()
    started = RunStarted(run=1, study="s", machine="m", trials_total=5, resumed=False)

    async def come_late() -> list[object]:
        desk.tell(started)
        desk.tell(Moving(what="long past"))
        desk.tell(HoldBegan(reason="a cable"))
        async with asyncio.TaskGroup() as tasks:
            asking = await laid_out(desk, tasks, GENERAL)
            async with desk.listening() as news:
                told = [await anext(news) for _ in range(3)]
            asking.cancel()
        return told

    assert in_jumping_time(come_late()) == [
        started,
        HoldBegan(reason="a cable"),
        PromptOpened(prompt=GENERAL),
    ]


async def test_what_is_over_is_not_told_to_a_late_channel():
    desk = Desk()
    desk.tell(RunStarted(run=1, study="s", machine="m", trials_total=5, resumed=False))
    desk.tell(HoldBegan(reason="a cable"))
    desk.tell(HoldLifted(channel="terminal"))
    assert desk.held is None
    desk.tell(RunFinished(run=1, complete=True, reason="all trials are done"))
    assert desk.started is None


def test_every_channel_hears_everything_in_order():
    desk = Desk()

    async def listen() -> list[list[object]]:
        async with desk.listening() as one, desk.listening() as other:
            desk.answer(answer(Word.DONE, "p9"))
            async with asyncio.TaskGroup() as tasks:
                asking = await laid_out(desk, tasks, GENERAL)
                desk.answer(answer())
                await asking
            return [[await anext(news) for _ in range(3)] for news in (one, other)]

    heard = in_jumping_time(listen())
    assert heard[0] == heard[1]
    assert heard[0] == [
        AnswerRefused(prompt_id="p9", channel="terminal", reason="nothing is asked now"),
        PromptOpened(prompt=GENERAL),
        PromptClosed(prompt_id="p1", because="answered on terminal"),
    ]


def test_a_channel_too_slow_loses_the_oldest_news_and_holds_nobody_up():
    desk = Desk()

    async def doze() -> object:
        async with desk.listening() as news:
            for number in range(NEWS_KEPT_FOR_A_SLOW_CHANNEL + 2):
                desk.tell(Moving(what=str(number)))
            return await anext(news)

    assert in_jumping_time(doze()) == Moving(what="2")


async def test_refusals_are_noted_for_the_record():
    desk, noted = Desk(), []
    desk.on_refusal.add(noted.append)
    desk.answer(answer(Word.DONE, "p9", channel="mqtt"))
    assert noted == [AnswerRefused(prompt_id="p9", channel="mqtt", reason="nothing is asked now")]


class Disk:
    """Keeps an answer when told to, or can't."""

    def __init__(self, fault: StoreError | None = None) -> None:
        self.kept: list[Answer] = []
        self._fault = fault
        self.may_write = asyncio.Event()

    async def keep(self, asked: Prompt, given: Answer) -> None:
        await self.may_write.wait()
        if self._fault is not None:
            raise self._fault
        self.kept.append(given)


def acknowledged(disk: Disk, given: Answer) -> list[str]:
    """What is seen, in order, from the answer handed in to the end."""
    desk, seen = Desk(), list[str]()

    async def look_on() -> None:
        async with desk.listening() as news:
            async for item in news:
                seen.append(type(item).__name__)

    async def person() -> None:
        result = await desk.acknowledged(given)
        seen.append(result.reason if isinstance(result, Refused) else "taken")

    async def ask() -> None:
        with suppress(StoreError):
            await desk.ask(CONFIRM, disk.keep)

    async def all_at_once() -> None:
        async with asyncio.TaskGroup() as tasks:
            looking = tasks.create_task(look_on())
            await asyncio.sleep(0)
            asking = tasks.create_task(ask())
            await asyncio.sleep(0)
            answering = tasks.create_task(person())
            await asyncio.sleep(1)
            seen.append("the disk has it" if not asking.done() else "over")
            assert desk.open_prompt is CONFIRM or asking.done()
            disk.may_write.set()
            await answering
            await asyncio.sleep(1)
            looking.cancel()

    in_jumping_time(all_at_once())
    return seen


def test_nobody_is_told_that_an_answer_was_taken_before_it_is_on_the_disk():
    disk = Disk()
    assert acknowledged(disk, answer()) == [
        "PromptOpened",
        "the disk has it",
        "PromptClosed",
        "taken",
    ]
    assert disk.kept == [answer()]


def test_an_answer_that_can_not_be_kept_is_refused_and_the_asker_is_told():
    seen = acknowledged(Disk(StoreError("db", "the disk is full", "Make room.")), answer())
    assert seen[:4] == ["PromptOpened", "the disk has it", "AnswerRefused", "PromptClosed"]
    assert seen[4:] == ["the disk is full"]


@pytest.mark.parametrize("word", [Word.HOLD, Word.END])
def test_stopping_waits_for_no_disk(word):
    disk = Disk()
    assert acknowledged(disk, answer(word)) == ["PromptOpened", "PromptClosed", "taken", "over"]
    assert disk.kept == []


def test_a_plain_answer_counts_though_the_clock_on_the_wall_was_set_back():
    late = replace(CONFIRM, opened_at=OPENED + 100 * A_SECOND)
    assert handed_in(late, answer(prompt_id=None))[0] == [Accepted()]


# ------------------------------------------------------------------ one of several

LAMP = prompt(kind=PromptKind.CHOOSE, at=place())


def chosen(choice: str | None, prompt_id: str | None = "p1") -> Answer:
    return replace(answer(Word.CHOSEN, prompt_id), choice=choice)


@pytest.mark.parametrize("choice", ["dark", "lit"])
def test_one_of_the_choices_is_the_answer(choice: str):
    said, got = handed_in(LAMP, chosen(choice))
    assert said == [Accepted()]
    assert got == chosen(choice)


@pytest.mark.parametrize(
    ("asked", "given", "reason"),
    [
        (LAMP, answer(), "say which it is: dark, lit"),
        (LAMP, answer(Word.READING, reading_mm=0.1), "say which it is: dark, lit"),
        (LAMP, chosen("slack"), "it is none of: dark, lit"),
        (LAMP, chosen("LIT"), "it is none of: dark, lit"),
        (LAMP, chosen(None), "it is none of: dark, lit"),
        (LAMP, chosen("lit", "p0"), "it belongs to another prompt"),
        (CONFIRM, chosen("lit"), "there is nothing to choose now"),
        (READ, chosen(None), "there is nothing to choose now"),
        (
            LAMP,
            replace(chosen("lit", None), given_s=1e12),
            "say which it is at the terminal or on the phone page: dark, lit",
        ),
    ],
)
def test_anything_else_is_none_of_them(asked: Prompt, given: Answer, reason: str):
    said, got = handed_in(asked, given)
    assert said == [Refused(reason=reason)]
    assert got is None


@pytest.mark.parametrize("word", [Word.REDO, Word.SKIP, Word.HOLD, Word.END])
def test_a_choice_may_be_left_by_the_words_that_always_do(word: Word):
    assert handed_in(LAMP, answer(word))[0] == [Accepted()]
