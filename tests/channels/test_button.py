"""A button through a fake of the GPIO library's boundary, the one thing that can't be had here."""

import asyncio
import os
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from datetime import UTC, datetime, timedelta

from hostctl.channels.button.button import ButtonChannel
from hostctl.config.host import Button
from hostctl.deeds import ClearBed
from hostctl.gpio.lines import Edge
from hostctl.news import Prompt, RunStarted, Word
from hostctl.run.desk import Desk

NOW = datetime(2026, 3, 1, 10, 0, tzinfo=UTC)


class FakeLines:
    """Edges come through a real pipe, as the kernel's do through its character device."""

    def __init__(self, *, closed: bool = False) -> None:
        self.fd, self._feed = os.pipe()
        self._closed = closed
        self._waiting: list[Edge] = []
        self.lit: list[bool] = []
        self.released = False

    def push(self, *, closed: bool, at_s: float) -> None:
        self._waiting.append(Edge(closed=closed, at_s=at_s))
        os.write(self._feed, b".")

    def closed(self) -> bool:
        return self._closed

    def edges(self) -> Sequence[Edge]:
        os.read(self.fd, 100)
        edges, self._waiting = self._waiting, []
        return edges

    def lamp(self, *, lit: bool) -> None:
        self.lit.append(lit)

    def release(self) -> None:
        self.released = True
        os.close(self.fd)
        os.close(self._feed)


def prompt(opened_at: datetime) -> Prompt:
    return Prompt(
        prompt_id="1-1",
        deed=ClearBed(),
        text="Hands clear.",
        detail="",
        moves_next="the head",
        place=None,
        opened_at=opened_at,
        resolution_mm=None,
    )


@asynccontextmanager
async def button(lines: FakeLines, desk: Desk, armed: list[str]) -> AsyncIterator[None]:
    settings = Button(machine="a", line=17, lamp_line=27)
    channel = ButtonChannel(
        settings,
        now=lambda: NOW,
        open_lines=lambda _: lines,
        on_idle_press=lambda: armed.append("armed"),
    )
    task = asyncio.create_task(channel.serve(desk))
    await settle()
    try:
        yield
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


async def settle() -> None:
    for _ in range(8):
        await asyncio.sleep(0)


def begin_run(desk: Desk) -> None:
    desk.tell(RunStarted(run=1, study="a", machine="b", trials_total=1, resumed=False))


async def test_a_short_press_is_done_and_the_lamp_waits_with_you() -> None:
    lines, desk = FakeLines(), Desk()
    begin_run(desk)
    async with button(lines, desk, []):
        asking = asyncio.create_task(desk.ask(prompt(NOW - timedelta(seconds=5))))
        await settle()
        assert lines.lit[-1] is True
        now_s = asyncio.get_running_loop().time()  # stamps may be ahead: no time need pass
        lines.push(closed=True, at_s=now_s + 0.1)
        lines.push(closed=False, at_s=now_s + 0.4)
        lines.push(closed=True, at_s=now_s + 0.7)  # the press before it is certain by then
        answer = await asking
        await settle()
    assert (answer.word, answer.prompt_id, answer.channel) == (Word.DONE, None, "button")
    assert lines.lit[-2:] == [False, False]
    assert lines.released


async def test_a_long_press_holds_while_it_is_still_down() -> None:
    lines, desk = FakeLines(), Desk()
    begin_run(desk)
    async with button(lines, desk, []):
        asking = asyncio.create_task(desk.ask(prompt(NOW - timedelta(seconds=5))))
        await settle()
        lines.push(closed=True, at_s=asyncio.get_running_loop().time() - 2)
        assert (await asking).word is Word.HOLD


async def test_a_press_that_began_before_the_prompt_was_shown_does_not_count() -> None:
    lines, desk = FakeLines(), Desk()
    begin_run(desk)
    async with button(lines, desk, []):
        asking = asyncio.create_task(desk.ask(prompt(NOW - timedelta(seconds=0.1))))
        await settle()
        now_s = asyncio.get_running_loop().time()
        lines.push(closed=True, at_s=now_s - 0.4)
        lines.push(closed=False, at_s=now_s - 0.05)
        await asyncio.sleep(0.001)
        await settle()
        assert not asking.done()
        asking.cancel()


async def test_a_press_while_no_run_is_going_on_arms() -> None:
    lines, desk = FakeLines(), Desk()
    armed: list[str] = []
    async with button(lines, desk, armed):
        now_s = asyncio.get_running_loop().time()
        lines.push(closed=True, at_s=now_s - 0.4)
        lines.push(closed=False, at_s=now_s - 0.2)
        await settle()
    assert armed == ["armed"]
