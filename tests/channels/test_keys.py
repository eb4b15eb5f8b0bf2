"""Real event bytes through a pipe: what a number pad's keys come to at the desk."""

import asyncio
import os
import struct
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from a_place import A_PLACE

from hostctl.channels.button.keys import KeysChannel
from hostctl.config.host import Keys
from hostctl.deeds import ZeroIndicator
from hostctl.input_events.events import EventReader
from hostctl.news import Answer, Prompt, Word
from hostctl.run.desk import Desk

OPENED = datetime(2026, 3, 1, 10, 0, tzinfo=UTC)
BEFORE_S = 5.0  # ago
ENTER, ESCAPE, MINUS, DOT, STAR, BACKSPACE = 96, 1, 74, 83, 55, 14
ZERO, ONE, TWO = 82, 79, 80


@dataclass(frozen=True)
class Key:
    """One event of the device."""

    code: int
    ago_s: float
    kind: int
    value: int

    def stamped(self) -> bytes:
        """As it is written now. Keys out of a pipe are stamped by the clock on the wall."""
        seconds, rest_s = divmod(time.time() - self.ago_s, 1)
        at = int(seconds), int(rest_s * 1e6)
        return struct.pack("@llHHi", *at, self.kind, self.code, self.value)


Keyed = tuple[Key, ...]


def event(code: int, ago_s: float = 0.0, *, kind: int = 1, value: int = 1) -> Keyed:
    return (Key(code, ago_s, kind, value),)


def stamped(keys: Keyed) -> bytes:
    return b"".join(key.stamped() for key in keys)


def prompt(resolution_mm: float | None = 0.01) -> Prompt:
    return Prompt(
        prompt_id="1-1",
        deed=ZeroIndicator(),  # takes done as well as a reading
        text="Zero the indicator.",
        detail="",
        moves_next="",
        place=replace(A_PLACE, trials_total=1),
        opened_at=OPENED,
        resolution_mm=resolution_mm,
    )


@asynccontextmanager
async def pad(tmp_path: Path, desk: Desk, *, graduations: bool = False) -> AsyncIterator[int]:
    """A number pad made of a pipe; gives the end its keys go in at."""
    pipe = tmp_path / "event0"
    os.mkfifo(pipe)
    holder = os.open(pipe, os.O_RDWR | os.O_NONBLOCK)
    settings = Keys(machine="a", device=str(pipe), typed_in_graduations=graduations)
    task = asyncio.create_task(KeysChannel(settings).serve(desk))
    try:
        yield holder
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task
        os.close(holder)


async def answered(tmp_path: Path, keys: Keyed, *, graduations: bool = False) -> Answer:
    desk = Desk()
    async with pad(tmp_path, desk, graduations=graduations) as device:
        asking = asyncio.create_task(desk.ask(prompt()))
        while not asking.done():
            await asyncio.sleep(0)
            if keys:
                os.write(device, stamped(keys))
            keys = ()
        return asking.result()


@pytest.mark.parametrize(
    ("keys", "word", "reading_mm"),
    [
        (event(ENTER), Word.DONE, None),
        (event(ESCAPE), Word.HOLD, None),
        (event(STAR), Word.REDO, None),
        (event(ZERO) + event(DOT) + event(ZERO) + event(TWO) + event(ENTER), Word.READING, 0.02),
        (event(MINUS) + event(DOT) + event(ZERO) + event(ONE) + event(ENTER), Word.READING, -0.01),
        (event(TWO) + event(BACKSPACE) + event(ONE) + event(ENTER), Word.READING, 1.0),
        (event(MINUS) + event(ENTER) + event(ENTER), Word.DONE, None),
        (event(ONE, value=2) + event(ONE, value=0) + event(ENTER), Word.DONE, None),
        (event(TWO, kind=4) + event(ENTER), Word.DONE, None),
    ],
    ids=["enter", "escape", "star", "0.02", "-.01", "erased", "no number", "a repeat", "no key"],
)
async def test_keys_become_answers(
    tmp_path: Path, keys: Keyed, word: Word, reading_mm: float | None
) -> None:
    answer = await answered(tmp_path, keys)
    assert (answer.word, answer.reading_mm, answer.channel) == (word, reading_mm, "keys")


async def test_graduations_are_counted_in_the_prompts_resolution(tmp_path: Path) -> None:
    answer = await answered(tmp_path, event(MINUS) + event(TWO) + event(ENTER), graduations=True)
    assert answer.reading_mm == -0.02


async def test_a_key_pressed_before_the_prompt_was_shown_does_not_count(tmp_path: Path) -> None:
    answer = await answered(tmp_path, event(ENTER, BEFORE_S) + event(ONE) + event(ENTER))
    assert answer.reading_mm == 1.0


async def test_digits_typed_before_the_prompt_do_not_become_its_reading(tmp_path: Path) -> None:
    desk = Desk()
    async with pad(tmp_path, desk) as device:
        await asyncio.sleep(0)
        os.write(device, stamped(event(TWO, BEFORE_S)))
        for _ in range(5):
            await asyncio.sleep(0)
        asking = asyncio.create_task(desk.ask(prompt()))
        for _ in range(5):
            await asyncio.sleep(0)
        os.write(device, stamped(event(ONE) + event(ENTER)))
        assert (await asking).reading_mm == 1.0


@pytest.mark.parametrize("cut", range(0, 48, 7))
def test_how_the_bytes_are_cut_never_matters(cut: int) -> None:
    data = stamped(event(ONE) + event(ENTER))
    reader = EventReader()
    codes = [key.code for part in (data[:cut], data[cut:]) for key in reader.feed(part)]
    assert codes == [ONE, ENTER]
