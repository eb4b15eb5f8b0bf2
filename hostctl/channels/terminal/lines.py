"""The terminal channel where there is no screen: plain lines out, a word or a number a line in."""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime

from hostctl.channels.descriptors import STOPPED_HINT, TooLong, lines_from, write_for_people
from hostctl.channels.news_lines import line_for
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

    async def serve(self, desk: Desk) -> None:
        """Print and read until the run is over. Raises RunStopped when the input ends."""
        async with asyncio.TaskGroup() as tasks:
            reading = tasks.create_task(self._take_lines(desk), name="terminal input")
            async with desk.listening() as all_news:
                async for news in all_news:
                    if isinstance(news, PromptOpened):
                        self._prompt = news.prompt
                    await self._print(line_for(news))
                    if isinstance(news, RunStarted):
                        await self._print(WORDS_NOTE)
                    if isinstance(news, RunFinished):
                        break
            reading.cancel()

    async def _take_lines(self, desk: Desk) -> None:
        async for line in lines_from(self._keyboard):
            if isinstance(line, TooLong):
                await self._print("That line is too long.")
            else:
                await self._take(line.decode("utf-8", errors="replace").strip().lower(), desk)
        if not self._ending:
            raise RunStopped("terminal", "the input ended", STOPPED_HINT)

    async def _take(self, text: str, desk: Desk) -> None:
        if text == "stop":
            self._stop_now()
            await self._print("Told the machine to halt. The emergency stop is its mains switch.")
            return
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


def _word(text: str, value_mm: float | None, choice: str | None) -> Word | None:
    if value_mm is not None:
        return Word.READING
    return Word.CHOSEN if choice is not None else WORDS.get(text)
