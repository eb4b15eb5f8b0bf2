"""The JSON-lines channel: the words of each event, and nothing malformed ever does harm."""

import asyncio
import json
import os
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_place import A_PLACE
from hypothesis import given
from lines_of_json import any_bytes, objects

from hostctl.channels.json_lines.incoming import (
    AnswerIn,
    Malformed,
    answer_from,
)
from hostctl.channels.json_lines.json_lines import JsonLines
from hostctl.channels.json_lines.json_words import object_for
from hostctl.deeds import ReadIndicator, TurnScrew
from hostctl.errors import RunStopped
from hostctl.news import Answer, HoldBegan, Prompt, PromptOpened, ReadingKept, RunFinished, Word
from hostctl.records import Position, Reading, Temperatures
from hostctl.reference.keys import sections_of
from hostctl.run.desk import Desk

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PLACE = replace(A_PLACE, trial=2, trials_done=1, trials_total=6)
PROMPT = Prompt(
    prompt_id="1-2",
    deed=ReadIndicator(),
    text="Read it.",
    detail="",
    moves_next="The head lifts.",
    place=PLACE,
    opened_at=NOW,
    resolution_mm=0.01,
)
KEYS = ["answer", "reading_mm", "prompt_id", "choice"]
HELD = {"event": "hold", "reason": "why", "stopped": False, "not_told": False, "taken_anew": 0}


class Script:
    """A program at the other end of the two pipes."""

    def __init__(self, desk: Desk, *, alone: bool = True) -> None:
        self._their_stdin, self._to_us = os.pipe()
        self._from_us, self._their_stdout = os.pipe()
        self.desk = desk
        self.channel = JsonLines(
            self._their_stdin, self._their_stdout, alone=alone, now=lambda: NOW
        )
        self._heard = b""

    def say(self, line: bytes) -> None:
        os.write(self._to_us, line)

    def hang_up(self) -> None:
        os.close(self._to_us)

    def stop_reading(self) -> None:
        os.close(self._from_us)

    async def hear(self) -> dict[str, object]:
        while b"\n" not in self._heard:
            self._heard += await asyncio.to_thread(os.read, self._from_us, 65536)
        line, _, self._heard = self._heard.partition(b"\n")
        return dict(json.loads(line))


@pytest.fixture
async def script() -> AsyncIterator[Script]:
    script = Script(Desk())
    async with asyncio.TaskGroup() as tasks:
        serving = tasks.create_task(script.channel.serve(script.desk))
        await asyncio.sleep(0)
        yield script
        serving.cancel()


def test_a_turn_is_told_as_figures_too():
    turn = TurnScrew(screw="front-left", turn_deg=120, direction="anticlockwise")
    said = object_for(PromptOpened(prompt=replace(PROMPT, deed=turn)))
    told = {key: value for key, value in said.items() if key.startswith("turn_")}
    assert told == {
        "turn_screw": "front-left",
        "turn_deg": 120,
        "turn_direction": "anticlockwise",
    }
    assert said["deed"] == {
        "do": "turn-screw",
        "hands_in": True,
        "screw": "front-left",
        "turn_deg": 120,
        "direction": "anticlockwise",
        "seen_from": "above",
        "target_mm": None,
    }


async def test_a_prompt_goes_out_and_its_reading_comes_back(script: Script):
    asking = asyncio.create_task(script.desk.ask(PROMPT))
    said = await script.hear()
    assert said == {
        "event": "prompt",
        "prompt_id": "1-2",
        "kind": "read",
        "deed": {"do": "read-indicator", "hands_in": False},
        "text": "Read it.",
        "detail": "",
        "hands_out": "",
        "moves_next": "The head lifts.",
        "answers": ["reading_mm", "redo", "skip"],
        "choices": [],
        "resolution_mm": 0.01,
        "typed_in_graduations": False,
        "simulated_contact": None,
        "simulated_indicator_mm": None,
        "turn_screw": None,
        "turn_deg": None,
        "turn_direction": None,
        "opened_at": "2026-11-25T12:00:00+00:00",
        "redo_takes": None,
        "new_hands": False,
        "run": 1,
        "block": 1,
        "round": 1,
        "trial": 2,
        "attempt": 1,
        "method": "paper-slip",
        "operator": "volunteer-a",
        "point": "front-left",
        "trials_done": 1,
        "trials_total": 6,
        "counts": True,
    }
    script.say(b'{"prompt_id":"1-2","reading_mm":0.02}\n')
    answer = await asking
    assert (answer.word, answer.reading_mm) == (Word.READING, 0.02)


async def test_each_event_carries_what_a_script_needs(script: Script):
    reading = Reading(
        value_mm=0.02,
        resolution_mm=0.01,
        taken_at=NOW,
        source="typed",
        at=Position(x_mm=5.0, y_mm=30.0, z_mm=5.0),
        temperatures=Temperatures(bed_c=21.5),
    )
    script.desk.tell(
        ReadingKept(
            reading_id=9,
            place=PLACE,
            reading=reading,
            relative_mm=0.01,
            is_zero=False,
            channel="terminal",
        )
    )
    script.desk.tell(HoldBegan(reason="The line is lost.", taken_anew=3))
    said = await script.hear()
    assert said["event"] == "reading"
    assert said["reading_id"] == 9
    assert (said["value_mm"], said["relative_mm"], said["bed_c"]) == (0.02, 0.01, 21.5)
    assert await script.hear() == HELD | {"reason": "The line is lost.", "taken_anew": 3}


async def test_an_answer_to_another_prompt_is_refused_and_says_why(script: Script):
    asking = asyncio.create_task(script.desk.ask(PROMPT))
    await script.hear()
    script.say(b'{"prompt_id":"0-9","answer":"done"}\n')
    said = await script.hear()
    assert said["event"] == "refused"
    assert said["prompt_id"] == "0-9"
    assert said["reason"] == "it belongs to another prompt"
    assert not asking.done()
    asking.cancel()


async def test_a_line_beyond_the_limit_is_refused_and_the_next_one_counts(script: Script):
    asking = asyncio.create_task(script.desk.ask(PROMPT))
    await script.hear()
    await asyncio.to_thread(script.say, b"x" * 200_000 + b'\n{"answer":"hold"}\n')
    assert (await script.hear())["reason"] == "the line is too long"
    assert (await asking).word is Word.HOLD


async def test_the_channel_ends_with_the_run():
    desk = Desk()
    script = Script(desk)
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(script.channel.serve(desk))
        await asyncio.sleep(0)
        desk.tell(RunFinished(run=1, complete=True, reason="all trials done"))
    assert await script.hear() == {
        "event": "finished",
        "run": 1,
        "complete": True,
        "reason": "all trials done",
    }


async def test_the_end_of_the_input_stops_the_run():
    script = Script(Desk())
    script.hang_up()
    with pytest.RaisesGroup(RunStopped):
        await script.channel.serve(script.desk)


async def test_the_end_of_the_input_stops_nothing_where_others_answer():
    desk = Desk()
    script = Script(desk, alone=False)
    script.hang_up()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(script.channel.serve(desk))
        await asyncio.sleep(0.01)
        desk.tell(HoldBegan(reason="why"))
        assert await script.hear() == HELD
        desk.tell(RunFinished(run=1, complete=True, reason=""))


async def test_a_reader_that_has_gone_stops_the_run():
    script = Script(Desk())
    script.stop_reading()
    script.desk.tell(HoldBegan(reason="why"))
    with pytest.RaisesGroup(RunStopped):
        await script.channel.serve(script.desk)


@pytest.mark.parametrize(
    ("line", "word", "reading_mm"),
    [
        (b'{"prompt_id":"7","answer":"done"}', Word.DONE, None),
        (b'{"prompt_id":"7","answer":"redo"}', Word.REDO, None),
        (b'{"prompt_id":"7","answer":"skip"}', Word.SKIP, None),
        (b'{"prompt_id":"7","reading_mm":-0.01}', Word.READING, -0.01),
        (b'{"prompt_id":"7","reading_mm":1}', Word.READING, 1.0),
        (b'{"prompt_id":"7","answer":"hold"}', Word.HOLD, None),
    ],
)
def test_an_answer_carries_its_prompt(line: bytes, word: Word, reading_mm: float | None):
    assert answer_from(line, channel="json-lines", now=NOW) == Answer(
        prompt_id="7", word=word, reading_mm=reading_mm, channel="json-lines", given_at=NOW
    )


@pytest.mark.parametrize("word", [Word.HOLD, Word.END])
def test_stopping_needs_no_prompt(word: Word):
    said = answer_from(json.dumps({"answer": word}).encode(), channel="json-lines", now=NOW)
    assert isinstance(said, Answer)
    assert said.word is word


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"done", "the line is not JSON"),
        (b"\xff\xfe", "the line is not JSON"),
        (b"[" * 50_000, "the line is too deep"),
        (b"[1]", "the line is not a JSON object"),
        (b"{}", "give one of answer, choice and"),
        (b'{"answer":"done"}', "only hold and end go without a prompt_id"),
        (b'{"reading_mm":0.02}', "only hold and end go without a prompt_id"),
        (b'{"prompt_id":7,"answer":"done"}', "prompt_id is not text"),
        (b'{"prompt_id":"7","answer":"yes"}', "answer must be one of: done, redo, skip, hold, end"),
        (b'{"prompt_id":"7","answer":["done"]}', "answer must be one of"),
        (b'{"prompt_id":"7","answer":"done","reading_mm":1}', "give one of answer, choice and"),
        (b'{"prompt_id":"7","reading_mm":"0.02"}', "reading_mm is not a number"),
        (b'{"prompt_id":"7","reading_mm":true}', "reading_mm is not a number"),
        (b'{"prompt_id":"7","reading_mm":NaN}', "reading_mm must be a finite number"),
        (b'{"prompt_id":"7","reading_mm":1e999}', "reading_mm must be a finite number"),
        (b'{"prompt_id":"7","reading_mm":1000001}', "reading_mm must be at most 1000000"),
        (b'{"prompt_id":"7","reading_mm":-1e7}', "reading_mm must be at least -1000000"),
        (b'{"prompt_id":"7","reading_mm":' + b"9" * 400 + b"}", "reading_mm must be a finite"),
        (b'{"prompt_id":"7","reading_mm":' + b"9" * 9000 + b"}", "the line is not JSON"),
        (b'{"prompt_id":"7","anwser":"done"}', "unknown key 'anwser'"),
        (b'{"prompt_id":"7","answer":"done","a\\u001b":1}', "unknown key 'a?'"),
        (b'{"prompt_id":null,"answer":"done"}', "only hold and end go without a prompt_id"),
        (b'{"prompt_id":"\\ud800","answer":"hold"}', "the line is not JSON"),
    ],
)
def test_what_is_no_answer_says_why(line: bytes, reason: str):
    said = answer_from(line, channel="json-lines", now=NOW)
    assert isinstance(said, Malformed)
    assert said.reason.startswith(reason)


def test_each_answer_and_its_keys_are_told():
    told = sections_of(AnswerIn, "taken")
    assert {key.name for each in told for key in each.keys} == set(KEYS)
    assert all(each.says and all(key.says for key in each.keys) for each in told)


def test_a_mark_of_the_encoding_may_come_first():
    said = answer_from(b'\xef\xbb\xbf{"answer":"hold"}', channel="json-lines", now=NOW)
    assert isinstance(said, Answer)


@pytest.mark.parametrize("prompt_id", ["7", "", None])
def test_a_refusal_names_the_prompt_that_was_named(prompt_id: str | None):
    line = json.dumps({"prompt_id": prompt_id, "answer": "yes"}).encode()
    said = answer_from(line, channel="json-lines", now=NOW)
    assert isinstance(said, Malformed)
    assert said.prompt_id == prompt_id


@given(line=any_bytes() | objects(KEYS, list(Word)))
def test_any_line_is_an_answer_or_is_refused_in_one_line(line: bytes):
    said = answer_from(line, channel="json-lines", now=NOW)
    if isinstance(said, Malformed):
        assert said.reason.isprintable()
        assert len(said.reason) < 200
    else:
        assert said.prompt_id is not None or said.word in (Word.HOLD, Word.END)
        assert (said.reading_mm is None) == (said.word is not Word.READING)
        assert (said.choice is None) == (said.word is not Word.CHOSEN)
