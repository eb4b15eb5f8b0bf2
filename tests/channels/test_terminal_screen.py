"""The terminal channel on a real pseudo-terminal: raw keys in, a screen out, all put back after."""

import asyncio
import os
import pty
import re
import termios
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from datetime import UTC, datetime

import pytest
from a_deed import A_DEED

from hostctl.channels.terminal.keys import Keys
from hostctl.channels.terminal.terminal import Terminal
from hostctl.errors import RunStopped
from hostctl.news import Answer, Prompt, PromptKind, RunFinished, RunStarted, Word
from hostctl.run.desk import Desk


def prompt(kind: PromptKind, prompt_id: str = "1") -> Prompt:
    return Prompt(
        prompt_id=prompt_id,
        deed=A_DEED[kind],
        text="Turn the screw.",
        detail="",
        moves_next="The head lifts.",
        place=None,
        opened_at=datetime.now(UTC),
        resolution_mm=0.01,
    )


class Person:
    """Somebody at the other end of the pseudo-terminal."""

    def __init__(self) -> None:
        self.end, self.tty = pty.openpty()
        self.desk = Desk()
        self.halted = 0
        # How long a keyboard must be quiet is tested where time is given in, not here.
        keys = Keys(quiet_s=0.0, repeat_s=0.0)
        self.channel = Terminal(self.tty, self.tty, stop_now=self._halt, keys=keys)
        self._seen = b""

    def _halt(self) -> None:
        self.halted += 1

    def press(self, keys: bytes) -> None:
        os.write(self.end, keys)

    async def sees(self, text: str) -> str:
        """All that was shown so far, once `text` is in it."""
        while text not in self._shown():
            await asyncio.sleep(0.005)
            os.set_blocking(self.end, False)
            with suppress(BlockingIOError):
                self._seen += os.read(self.end, 65536)
        return self._shown()

    @property
    def raw(self) -> bytes:
        """What was sent to the screen, and is read by now."""
        return self._seen

    def _shown(self) -> str:
        return re.sub(r"\x1b\[[?0-9;]*[A-Za-z]", "", self._seen.decode(errors="ignore"))


@asynccontextmanager
async def at_the_terminal() -> AsyncIterator[Person]:
    person = Person()
    async with asyncio.TaskGroup() as tasks:
        serving = tasks.create_task(person.channel.serve(person.desk))
        await asyncio.sleep(0)
        yield person
        serving.cancel()
    os.close(person.end)
    os.close(person.tty)


async def answer_of(asking: "asyncio.Task[Answer]") -> Answer:
    return await asyncio.wait_for(asking, 60)


async def test_enter_answers_what_is_asked():
    async with at_the_terminal() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.SET)))
        await person.sees("Turn the screw.")
        person.press(b"\r")
        assert (await answer_of(asking)).word is Word.DONE


async def test_a_reading_is_typed_and_kept_with_enter():
    async with at_the_terminal() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.READ)))
        await person.sees("keep the number")
        person.press(b"-0,02\r")
        assert (await answer_of(asking)).reading_mm == -0.02


async def test_until_it_is_on_the_disk_an_answer_is_said_to_be_being_kept():
    on_the_disk = asyncio.Event()

    async def slow_disk(asked: Prompt, given: Answer) -> None:
        await on_the_disk.wait()

    async with at_the_terminal() as person:
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.SET), slow_disk))
        await person.sees("Turn the screw.")
        person.press(b"\r")
        await person.sees("Being kept")
        assert not asking.done()
        on_the_disk.set()
        assert (await answer_of(asking)).word is Word.DONE


async def test_keys_pressed_before_the_prompt_was_shown_answer_nothing():
    async with at_the_terminal() as person:
        person.press(b"\r\r\r")
        asking = asyncio.ensure_future(person.desk.ask(prompt(PromptKind.SET)))
        await person.sees("Turn the screw.")
        await asyncio.sleep(0.05)
        assert not asking.done()
        person.press(b"\r")
        assert (await answer_of(asking)).word is Word.DONE


async def test_space_holds_at_any_time():
    held: asyncio.Queue[Answer] = asyncio.Queue()
    async with at_the_terminal() as person:
        person.desk.on_stop.add(held.put_nowait)
        person.desk.tell(RunStarted(run=1, study="s", machine="m", trials_total=3, resumed=False))
        await person.sees("s on m")
        person.press(b" ")
        assert (await held.get()).word is Word.HOLD


async def test_x_halts_the_machine_and_names_the_real_emergency_stop():
    async with at_the_terminal() as person:
        person.press(b"x")
        await person.sees("The emergency stop is its mains switch.")
        assert person.halted == 1


async def test_the_terminal_is_left_as_it_was_found():
    person = Person()
    before = termios.tcgetattr(person.tty)
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(person.channel.serve(person.desk))
        await asyncio.sleep(0)
        during = termios.tcgetattr(person.tty)
        person.desk.tell(RunFinished(run=1, complete=True, reason="all done"))
    assert during[3] != before[3]
    assert termios.tcgetattr(person.tty) == before


async def test_ctrl_z_and_ctrl_s_are_keys_without_a_meaning():
    async with at_the_terminal() as person:
        during = termios.tcgetattr(person.tty)
        assert during[6][termios.VSUSP] == b"\0"
        assert not during[0] & termios.IXON
        asking = asyncio.create_task(person.desk.ask(prompt(PromptKind.SET)))
        await person.sees("Turn the screw.")
        person.press(b"\x1a\x13\r")
        assert (await asking).word is Word.DONE


async def test_the_terminal_is_left_as_it_was_found_after_a_cancellation_too():
    person = Person()
    before = termios.tcgetattr(person.tty)
    async with asyncio.TaskGroup() as tasks:
        serving = tasks.create_task(person.channel.serve(person.desk))
        await asyncio.sleep(0.01)
        serving.cancel()
    assert termios.tcgetattr(person.tty) == before


async def test_a_terminal_that_is_closed_stops_the_run():
    person = Person()
    with pytest.RaisesGroup(pytest.RaisesGroup(RunStopped)):
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(person.channel.serve(person.desk))
            await asyncio.sleep(0.01)
            os.close(person.end)
