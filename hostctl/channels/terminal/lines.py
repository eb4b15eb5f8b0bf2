"""The terminal channel where there is no screen: plain lines out, a word or a number a line in."""

import asyncio
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime

from hostctl.channels.descriptors import STOPPED_HINT, TooLong, lines_from, write_for_people
from hostctl.channels.news_lines import line_for
from hostctl.channels.terminal import pasted
from hostctl.channels.terminal.notes import told_to_halt
from hostctl.channels.terminal.pasted import Pasted
from hostctl.channels.typed_reading import reading_mm
from hostctl.errors import RunStopped
from hostctl.news import Answer, Prompt, PromptOpened, RunFinished, RunStarted, Word
from hostctl.run.desk import Desk, Refused

WORDS_NOTE = (
    "hold: it stands still until you lift it. end: the run is over, and can be resumed. "
    "stop: the machine is told to halt at once."
)
WORDS = {word.value: word for word in Word if word not in (Word.READING, Word.CHOSEN)}


class Lines:
    """Prompts printed; answers typed as `done`, `redo`, `skip`, `hold`, `end`, `stop` or a number.

    A line counts for the prompt that was printed last before the line came in.
    """

    name = "terminal"

    def __init__(self, keyboard: int, screen: int, *, stop_now: Callable[[], None]) -> None:
        self._keyboard = keyboard
        self._screen = screen
        self._stop_now = stop_now
        self._prompt: Prompt | None = None
        self._ending = False
        self._simulated = False
        self._skipping: str | None = None  # which prompt's trial, said once

    async def serve(self, desk: Desk) -> None:
        """Print and read until the run is over. Raises RunStopped when the input ends."""
        with _marking_pastes(self._keyboard):
            await self._serve(desk)

    async def _serve(self, desk: Desk) -> None:
        async with asyncio.TaskGroup() as tasks:
            reading = tasks.create_task(self._take_lines(desk), name="terminal input")
            async with desk.listening() as all_news:
                async for news in all_news:
                    if isinstance(news, PromptOpened):
                        self._prompt = news.prompt
                    await self._print(line_for(news))
                    if isinstance(news, RunStarted):
                        self._simulated = news.simulated
                        await self._print(WORDS_NOTE)
                    if isinstance(news, RunFinished):
                        break
            reading.cancel()

    async def _take_lines(self, desk: Desk) -> None:
        pastes, clock = Pasted(), asyncio.get_running_loop().time
        async for line in lines_from(self._keyboard):
            if isinstance(line, TooLong):
                await self._print("That line is too long.")
                continue
            typed, was_pasted = pastes.without(line, clock())
            if was_pasted and not pasted.is_before(line):
                await self._print(pasted.NOTE)
            elif typed or not was_pasted:
                await self._take(typed.decode("utf-8", errors="replace").strip().lower(), desk)
        if not self._ending:
            raise RunStopped("terminal", "the input ended", STOPPED_HINT)

    async def _take(self, text: str, desk: Desk) -> None:
        skipping, self._skipping = self._skipping, None
        if text == "stop":
            self._stop_now()
            await self._print(told_to_halt(simulated=self._simulated))
        elif text == Word.SKIP and self._may_skip not in (None, skipping):
            self._skipping = self._may_skip
            await self._print("Type skip once more to leave this trial out for good.")
        else:
            await self._answer(text, desk)

    @property
    def _may_skip(self) -> str | None:
        """The prompt whose trial may be left out."""
        return self._prompt.prompt_id if self._prompt and self._prompt.may_skip else None

    async def _answer(self, text: str, desk: Desk) -> None:
        prompt = self._prompt
        value_mm = reading_mm(text, prompt) if prompt is not None else None
        choices = [each.word for each in prompt.choices] if prompt is not None else []
        choice = text if text in choices else None
        word = _word(text, value_mm, choice)
        if word is None:
            words = ", ".join([*choices, *WORDS, "stop"])
            await self._print(f"'{text[:40]}' is neither a number nor one of: {words}.")
            return
        answer = Answer(
            prompt_id=prompt.prompt_id if prompt else None,
            word=word,
            reading_mm=value_mm,
            choice=choice,
            channel=self.name,
            given_at=datetime.now(UTC),
        )
        result = desk.answer(answer)
        self._ending = word is Word.END and not isinstance(result, Refused)
        if isinstance(result, Refused):
            await self._print(f"Not taken: {result.reason}.")

    async def _print(self, text: str) -> None:
        if text:
            await write_for_people(self._screen, f"{text}\n")


@contextmanager
def _marking_pastes(keyboard: int) -> Iterator[None]:
    """Meanwhile a terminal marks what is pasted."""
    if not os.isatty(keyboard):
        yield
        return
    try:
        _ask(keyboard, pasted.ASK)
        yield
    finally:
        _ask(keyboard, pasted.ASK_NO_MORE)


def _ask(keyboard: int, what: str) -> None:
    with suppress(OSError):  # it can't be written to, or was closed
        os.write(keyboard, what.encode())


def _word(text: str, value_mm: float | None, choice: str | None) -> Word | None:
    if value_mm is not None:
        return Word.READING
    return Word.CHOSEN if choice is not None else WORDS.get(text)
