"""The terminal where there is no screen: plain lines out, a word or a number a line in."""

import asyncio
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_deed import A_DEED
from a_place import A_PLACE

from hostctl.channels.descriptors import lines_from
from hostctl.channels.news_lines import line_for
from hostctl.channels.terminal.lines import Lines
from hostctl.channels.terminal.progress import Progress
from hostctl.errors import RunStopped
from hostctl.news import (
    Answer,
    CountdownTicked,
    Moving,
    News,
    Prompt,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    Word,
)
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.desk import Desk

NOW = datetime(2026, 11, 25, tzinfo=UTC)
STARTED = RunStarted(run=1, study="small", machine="bench", trials_total=3, resumed=False)
FINISHED = RunFinished(run=1, complete=True, reason="all done")


def place(trial: int, block: int = 1) -> Place:
    return replace(A_PLACE, block=block, trial=trial, trials_done=trial, trials_total=3)


def prompt(kind: PromptKind) -> Prompt:
    return Prompt(
        prompt_id="p",
        deed=A_DEED[kind],
        text="Do it.",
        detail="Calmly. Hands out.",
        hands_out="Hands out.",
        moves_next="The head lifts.",
        place=place(1),
        opened_at=NOW,
        resolution_mm=0.01,
    )


def kept(value_mm: float, trial: int, block: int = 1) -> ReadingKept:
    return ReadingKept(
        reading_id=trial,
        place=place(trial, block),
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.01,
            taken_at=NOW,
            source="typed",
            at=Position(x_mm=0, y_mm=0, z_mm=5),
            temperatures=Temperatures(),
        ),
        relative_mm=value_mm,
        is_zero=trial == 0,
        channel="terminal",
    )


class Person:
    """Somebody with two pipes for a terminal."""

    def __init__(self) -> None:
        keyboard, self._to_it = os.pipe()
        self._from_it, screen = os.pipe()
        self.desk = Desk()
        self.halted = 0
        self.channel = Lines(keyboard, screen, stop_now=self._halt)
        self._lines = lines_from(self._from_it)

    def _halt(self) -> None:
        self.halted += 1

    def types(self, line: str) -> None:
        os.write(self._to_it, f"{line}\n".encode())

    def hangs_up(self) -> None:
        os.close(self._to_it)

    async def reads(self) -> str:
        line = await anext(self._lines)
        assert isinstance(line, bytes)
        return line.decode()


@asynccontextmanager
async def at_the_pipes() -> AsyncIterator[Person]:
    person = Person()
    async with asyncio.TaskGroup() as tasks:
        serving = tasks.create_task(person.channel.serve(person.desk))
        await asyncio.sleep(0)
        yield person
        serving.cancel()


@pytest.mark.parametrize(
    ("line", "kind", "word", "reading_mm"),
    [
        ("done", PromptKind.SET, Word.DONE, None),
        ("REDO", PromptKind.SET, Word.REDO, None),
        ("skip", PromptKind.READ, Word.SKIP, None),
        ("0.02", PromptKind.READ, Word.READING, 0.02),
        ("-0,01", PromptKind.READ, Word.READING, -0.01),
        ("hold", PromptKind.READ, Word.HOLD, None),
    ],
)
async def test_a_line_answers_what_was_printed(
    line: str, kind: PromptKind, word: Word, reading_mm: float | None
):
    async with at_the_pipes() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(kind)))
        assert await person.reads() == "[2/3 front-left paper-slip volunteer-a] Do it. Calmly."
        assert await person.reads() == "  Moves next: The head lifts. Hands out."
        assert "hold, end, stop)" in await person.reads()
        person.types(line)
        if word is Word.SKIP:
            assert await person.reads() == "Type skip once more to leave this trial out for good."
            person.types(line)
        answer: Answer = await asking
    assert (answer.word, answer.reading_mm) == (word, reading_mm)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("yes", "'yes' is neither a number nor one of: done, redo, skip, hold, end, stop."),
        ("x" * 70_000, "That line is too long."),
        ("done", "Not taken: a reading is asked for: say what the indicator shows."),
    ],
)
async def test_what_does_not_count_is_said(line: str, said: str):
    async with at_the_pipes() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.READ)))
        for _ in range(3):
            await person.reads()
        await asyncio.to_thread(person.types, line)
        assert await person.reads() == said
        asking.cancel()


async def test_stop_halts_the_machine_and_names_the_real_emergency_stop():
    async with at_the_pipes() as person:
        person.types("stop")
        assert "The emergency stop is its mains switch." in await person.reads()
        assert person.halted == 1


async def test_the_news_are_told_and_the_channel_ends_with_the_run():
    person = Person()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(person.channel.serve(person.desk))
        await asyncio.sleep(0)
        for news in (STARTED, CountdownTicked(seconds_left=2, what="It lifts."), kept(0.02, 1)):
            person.desk.tell(news)
        person.desk.tell(FINISHED)
    assert "Emergency stop: the machine's mains switch." in await person.reads()
    meanings = await person.reads()
    assert all(f"{word}: " in meanings for word in ("hold", "end", "stop"))
    assert await person.reads() == "  2 … stand clear: It lifts."
    assert await person.reads() == "  kept +0.02 mm"
    assert await person.reads() == "Run finished: all done"


async def test_the_end_of_the_input_stops_the_run():
    person = Person()
    person.hangs_up()
    with pytest.RaisesGroup(RunStopped):
        await person.channel.serve(person.desk)


async def progress_of(*told: News, pace_s: float | None = None) -> list[str]:
    """The lines of a run that is watched."""
    ours, theirs = os.pipe()
    desk = Desk()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(Progress(theirs, pace_s).serve(desk))
        await asyncio.sleep(0)
        for news in told:
            desk.tell(news)
    os.close(theirs)
    return [line.decode().rstrip() async for line in lines_from(ours) if isinstance(line, bytes)]


async def test_of_many_readings_that_nobody_is_asked_between_a_line_tells_how_far_they_reached():
    loop = replace(STARTED, asks_nobody=True, trials_total=1000)
    touches = [kept(0.01 * (n % 5), n) for n in range(1, 251)]
    shown = await progress_of(loop, *touches, FINISHED)
    assert len(shown) == 4
    assert all(line.endswith("the last 100 from 0.00 to +0.04 mm") for line in shown[1:3])


async def test_progress_shows_a_line_a_block():
    readings = [kept(0, 0), kept(0.01, 1), kept(-0.02, 2), kept(0, 0, 2), kept(0.03, 1, 2)]
    shown = await progress_of(STARTED, *readings, FINISHED)
    assert shown[1:] == [
        "  paper-slip     volunteer-a  front-left   +0.01 −0.02",
        "  paper-slip     volunteer-a  front-left   +0.03",
        "Run finished: all done",
    ]


async def test_at_peoples_pace_it_shows_what_goes_on_from_the_start_and_how_far_it_is():
    homes = Moving(what="All axes home.")
    readings = [kept(0, 0), kept(0.01, 1), kept(0.03, 1, 2)]
    shown = await progress_of(STARTED, homes, homes, *readings, homes, FINISHED, pace_s=40)
    assert shown[1:] == [
        "Simulated people answer at people's pace: about 2 min.",
        "  All axes home.",
        "  paper-slip     volunteer-a  front-left   +0.01   2 of 3",
        "  paper-slip     volunteer-a  front-left   +0.03   2 of 3",
        "Run finished: all done",
    ]


async def test_progress_that_nobody_reads_ends_quietly():
    ours, theirs = os.pipe()
    os.close(ours)
    desk = Desk()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(Progress(theirs).serve(desk))
        await asyncio.sleep(0)
        desk.tell(STARTED)


@pytest.mark.parametrize(
    ("kind", "trial", "wanted"),
    [
        (PromptKind.CONFIRM, None, "(done; hold, end, stop)"),
        (PromptKind.CONFIRM, 1, "(done; redo, skip, hold, end, stop)"),
        (PromptKind.SET, 0, "(done; redo, hold, end, stop)"),
        (PromptKind.SET, 1, "(done; redo, skip, hold, end, stop)"),
        (PromptKind.ZERO, 0, "(done, or the number it shows; redo, hold, end, stop)"),
        (PromptKind.SEND, 1, "(a press of the cable's button; redo, skip, hold, end, stop)"),
        (PromptKind.READ, 1, "(the number it shows; redo, skip, hold, end, stop)"),
    ],
)
def test_a_prompt_ends_with_what_would_be_taken(kind: PromptKind, trial: int | None, wanted: str):
    at = None if trial is None else place(trial)
    asked = Prompt(
        prompt_id="p",
        deed=A_DEED[kind],
        text="Do it.",
        detail="",
        moves_next="",
        place=at,
        opened_at=NOW,
        resolution_mm=None,
    )
    assert line_for(PromptOpened(prompt=asked)).endswith(f"Do it.\n  {wanted}")
