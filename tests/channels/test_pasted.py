"""A paste is no answer, however it arrives; what is typed about it is."""

import asyncio
import os
import pty
from contextlib import suppress

import pytest
from test_terminal_screen import at_the_terminal, prompt

from hostctl.channels.terminal import pasted
from hostctl.channels.terminal.lines import Lines
from hostctl.channels.terminal.pasted import LASTS_S, Pasted
from hostctl.news import PromptKind, Word
from hostctl.run.desk import Desk

SENT = b"ab\x1b[200~done\r x\n\x1b[201~cd"


def told(*reads: bytes, apart_s: float = 0.01) -> tuple[bytes, bool]:
    """What was typed, and whether anything was pasted."""
    pastes = Pasted()
    parts = [pastes.without(read, turn * apart_s) for turn, read in enumerate(reads)]
    return b"".join(typed for typed, _ in parts), any(was for _, was in parts)


@pytest.mark.parametrize("at", range(1, len(SENT)))
def test_what_is_between_the_marks_is_dropped_wherever_reads_are_split(at: int):
    assert told(SENT[:at], SENT[at:]) == (b"ab" + b"\x1b" * (at == 3) + b"cd", True)


def test_byte_by_byte_too():
    typed, was_pasted = told(*(SENT[at : at + 1] for at in range(len(SENT))))
    assert (typed.replace(b"\x1b", b""), was_pasted) == (b"abcd", True)


@pytest.mark.parametrize("typed", [b"0.02\r", b"\x1b", b"\x1b[A", b"\x1bOP", b"x"])
def test_what_is_typed_comes_through(typed: bytes):
    assert told(typed) == (typed, False)


def test_an_escape_eats_no_key_after_it_and_a_lost_end_locks_no_keyboard():
    assert told(b"\x1b", b"x") == (b"\x1bx", False)
    pastes = Pasted()
    assert pastes.without(b"\x1b[200~0.0", 0.0) == (b"", True)
    assert pastes.without(b"x", LASTS_S / 2) == (b"", True)
    assert pastes.without(b"x", LASTS_S * 2) == (b"x", False)


async def test_at_the_screen_a_paste_moves_nothing_and_is_said_to_count_for_nothing():
    async with at_the_terminal() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.SET)))
        await person.sees("Turn the screw.")
        person.press(b"\x1b[200~\r\r0.02\r\x1b[201~")
        await person.sees(pasted.NOTE)
        assert not asking.done()
        person.press(b"\r")
        assert (await asking).word is Word.DONE
        assert pasted.ASK.encode() in person.raw


async def test_on_plain_lines_a_paste_answers_nothing_and_the_terminal_is_left_as_found():
    end, tty = pty.openpty()
    seen = b""

    async def reads_until(text: str) -> None:
        nonlocal seen
        os.set_blocking(end, False)
        while text.encode() not in seen:
            await asyncio.sleep(0.005)
            with suppress(BlockingIOError):
                seen += os.read(end, 65536)

    desk = Desk()
    async with asyncio.TaskGroup() as tasks:
        serving = tasks.create_task(Lines(tty, tty, stop_now=lambda: None).serve(desk))
        asking = asyncio.ensure_future(desk.ask(prompt(PromptKind.SET)))
        await reads_until("hold, end, stop)")
        os.write(end, b"\x1b[200~done\ndone\x1b[201~\n")
        await reads_until(pasted.NOTE)
        assert not asking.done()
        os.write(end, b"done\n")
        assert (await asking).word is Word.DONE
        serving.cancel()
    await reads_until(pasted.ASK_NO_MORE)
    os.close(end)
    os.close(tty)
