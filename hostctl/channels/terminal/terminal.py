"""The terminal channel: large, calm, answered by single keys and typed readings."""

import asyncio
import os
import signal
import sys
import termios
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime

from hostctl.channels.descriptors import STOPPED_HINT, read_some, write_for_people
from hostctl.channels.terminal import pasted
from hostctl.channels.terminal.as_found import single_keys, switched
from hostctl.channels.terminal.draw import PLAIN, Look, draw
from hostctl.channels.terminal.keys import SOME_OTHER, Act, Answered, Keys, Said, StopNow, keys_in
from hostctl.channels.terminal.lines import Lines
from hostctl.channels.terminal.notes import note_after, told_to_halt
from hostctl.channels.terminal.pasted import Pasted
from hostctl.channels.view.seen import view_of_run
from hostctl.errors import RunStopped
from hostctl.news import Answer, News, PromptOpened, RunFinished
from hostctl.report.document.plain_ascii import asked_for
from hostctl.run.channel import Channel
from hostctl.run.desk import STOPPING, Desk, Refused
from hostctl.run.record.course import Course, course_after

ENTER_SCREEN = f"\x1b[?1049h\x1b[?25l{pasted.ASK}"
LEAVE_SCREEN = f"{pasted.ASK_NO_MORE}\x1b[?25h\x1b[?1049l"


def terminal(settings: dict[str, object]) -> Channel:
    """The channel for this terminal: the full screen, or plain lines when it is none.

    Settings: `stop_now`, called with nothing when the person asks to halt the machine at once.
    """
    stop_now = settings.get("stop_now")
    act: Callable[[], None] = stop_now if callable(stop_now) else _nothing
    if sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "dumb") != "dumb":
        return Terminal(sys.stdin.fileno(), sys.stdout.fileno(), stop_now=act)
    return Lines(sys.stdin.fileno(), sys.stdout.fileno(), stop_now=act)


def _nothing() -> None:
    """Where nothing can be halted."""


class Terminal:
    """One person at one terminal."""

    name = "terminal"

    def __init__(
        self,
        keyboard: int,
        screen: int,
        *,
        stop_now: Callable[[], None],
        keys: Keys | None = None,
    ) -> None:
        self._keyboard = keyboard
        self._screen = screen
        self._stop_now = stop_now
        self._course = Course()
        self._view = view_of_run(self._course)  # what is on the screen
        self._note = ""
        self._keys = keys or Keys()
        self._changed = asyncio.Event()
        look = PLAIN if os.environ.get("NO_COLOR") else Look()
        self._look = replace(look, ascii_alone=asked_for(os.environ))

    async def serve(self, desk: Desk) -> None:
        """Show and ask until the run is over. Raises RunStopped when the terminal goes away.

        The terminal is left as it was found, however this ends.
        """
        with single_keys(self._keyboard), switched(self._screen, ENTER_SCREEN, LEAVE_SCREEN):
            async with asyncio.TaskGroup() as tasks:
                helpers = [
                    tasks.create_task(self._draw_changes(), name="terminal screen"),
                    tasks.create_task(self._take_keys(desk), name="terminal keys"),
                ]
                with _on_resize(self._changed.set):
                    await self._follow(desk)
                for helper in helpers:
                    helper.cancel()

    async def _follow(self, desk: Desk) -> None:
        loop = asyncio.get_running_loop()
        async with desk.listening() as all_news:
            async for news in all_news:
                if isinstance(news, PromptOpened):
                    self._forget_typed(loop.time())
                self._take(news, loop.time)
                self._changed.set()
                if isinstance(news, RunFinished):
                    return

    def _take(self, news: News, clock: Callable[[], float]) -> None:
        self._course = course_after(self._course, news, clock)
        self._view = view_of_run(self._course)
        self._note = note_after(self._note, news)

    def _forget_typed(self, at_s: float) -> None:
        termios.tcflush(self._keyboard, termios.TCIFLUSH)
        self._keys.prompt_opened(at_s)

    async def _take_keys(self, desk: Desk) -> None:
        loop = asyncio.get_running_loop()
        pastes = Pasted()
        while data := await read_some(self._keyboard):
            typed, was_pasted = pastes.without(data, loop.time())
            if was_pasted:
                self._keys.press(SOME_OTHER, None, loop.time())
                self._say(pasted.NOTE)
            for key in keys_in(typed):
                # The prompt on the screen, not the one on the desk: that one may not be shown yet.
                act = self._keys.press(key, self._view.prompt, loop.time())
                self._do(act, desk)
            self._changed.set()
        raise RunStopped("terminal", "it was closed", STOPPED_HINT)

    def _do(self, act: Act | None, desk: Desk) -> None:
        match act:
            case Answered():
                self._answer(act, desk)
            case StopNow():
                self._stop_now()
                self._say(told_to_halt(simulated=self._simulated))
            case Said(note=note):
                self._say(note)
            case None:
                pass

    def _answer(self, act: Answered, desk: Desk) -> None:
        prompt = self._view.prompt
        result = desk.answer(
            Answer(
                prompt_id=prompt.prompt_id if prompt else None,
                word=act.word,
                reading_mm=act.reading_mm,
                choice=act.choice,
                channel=self.name,
                given_at=datetime.now(UTC),
            )
        )
        if isinstance(result, Refused):
            self._say(f"Not taken: {result.reason}.")
        elif act.word not in STOPPING:
            self._say("Being kept …")  # until the prompt closes: it is on the disk then

    @property
    def _simulated(self) -> bool:
        return self._view.run is not None and self._view.run.simulated

    def _say(self, note: str) -> None:
        self._note = note
        self._changed.set()

    async def _draw_changes(self) -> None:
        while True:
            await self._changed.wait()
            self._changed.clear()
            size = os.get_terminal_size(self._screen)
            lines = draw(
                self._view,
                note=self._note,
                typed=self._keys.typed,
                columns=size.columns or 80,  # 0: a terminal that does not know its size
                rows=size.lines or 24,
                look=self._look,
            )
            await write_for_people(
                self._screen, "\x1b[H" + "\x1b[K\r\n".join(lines) + "\x1b[K\x1b[J"
            )


@contextmanager
def _on_resize(act: Callable[[], None]) -> Iterator[None]:
    loop = asyncio.get_running_loop()
    loop.add_signal_handler(signal.SIGWINCH, act)
    try:
        yield
    finally:
        loop.remove_signal_handler(signal.SIGWINCH)
