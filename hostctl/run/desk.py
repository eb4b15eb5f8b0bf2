"""The desk between the run and the channels: one open prompt at most, the first valid answer wins.

The run asks; every channel is told; whatever comes back is checked here and nowhere else. An
answer counts only for the prompt now open (DESIGN, rule 3): by its id, or, where the channel
can't carry one, by having been given after the prompt was opened. `hold` and `end` count at any
time, because stopping works from anywhere.
"""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

from hostctl.records import (
    Answer,
    AnswerRefused,
    HoldBegan,
    HoldLifted,
    News,
    Prompt,
    PromptClosed,
    PromptOpened,
    RunFinished,
    RunStarted,
    Word,
)

STOPPING = frozenset({Word.HOLD, Word.END})
NEWS_KEPT_FOR_A_SLOW_CHANNEL = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """An answer that did not count, and why."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """An answer that counted."""


class Desk:
    """Where prompts are laid out and answers handed in.

    One desk a machine. All methods are called on the event loop's own thread.
    """

    def __init__(self) -> None:
        self._open: Prompt | None = None
        self._waiting: asyncio.Future[Answer] | None = None
        self._closed_ids: deque[str] = deque(maxlen=1000)
        self._listeners: set[asyncio.Queue[News]] = set()
        self._on_stop: Callable[[Answer], None] | None = None
        self.started: RunStarted | None = None
        self.held: HoldBegan | None = None

    @property
    def open_prompt(self) -> Prompt | None:
        """The prompt now open, if any."""
        return self._open

    # ------------------------------------------------------------ the run's side

    def tell(self, news: News) -> None:
        """Tell every channel. Never waits: a channel that is too slow loses the oldest news."""
        match news:
            case RunStarted():
                self.started, self.held = news, None
            case HoldBegan():
                self.held = news
            case HoldLifted():
                self.held = None
            case RunFinished():
                self.started, self.held = None, None
            case _:
                pass
        for queue in self._listeners:
            if queue.full():
                queue.get_nowait()
            queue.put_nowait(news)

    async def ask(self, prompt: Prompt) -> Answer:
        """Open the prompt and wait, however long, for the first answer that counts.

        Raises RuntimeError when a prompt is open already: the run asks one thing at a time.
        """
        if self._open is not None:
            raise RuntimeError(f"prompt {self._open.prompt_id} is still open")
        self._open = prompt
        self._waiting = asyncio.get_running_loop().create_future()
        because = "withdrawn"
        self.tell(PromptOpened(prompt=prompt))
        try:
            answer = await self._waiting
            because = f"answered on {answer.channel}"
            return answer
        finally:
            self._closed_ids.append(prompt.prompt_id)
            self._open = self._waiting = None
            self.tell(PromptClosed(prompt_id=prompt.prompt_id, because=because))

    def on_stop(self, act: Callable[[Answer], None] | None) -> None:
        """What to do with `hold` or `end` while no prompt is open (the machine may be moving)."""
        self._on_stop = act

    # ------------------------------------------------------------ the channels' side

    @asynccontextmanager
    async def listening(self) -> AsyncIterator[AsyncIterator[News]]:
        """`async with desk.listening() as news: async for item in news: …`

        Starts with where things stand: the run, the hold and the prompt now open.
        """
        queue: asyncio.Queue[News] = asyncio.Queue(NEWS_KEPT_FOR_A_SLOW_CHANNEL)
        opened = PromptOpened(prompt=self._open) if self._open else None
        for item in (self.started, self.held, opened):
            if item is not None:
                queue.put_nowait(item)
        self._listeners.add(queue)
        try:
            yield _drain(queue)
        finally:
            self._listeners.discard(queue)

    def answer(self, answer: Answer) -> Accepted | Refused:
        """Hand in an answer. What is refused moves nothing, and every channel is told why."""
        why = self._why_not(answer)
        if why is not None:
            self.tell(AnswerRefused(prompt_id=answer.prompt_id, channel=answer.channel, reason=why))
            return Refused(reason=why)
        if self._waiting is not None:
            self._waiting.set_result(answer)
        elif self._on_stop is not None:
            self._on_stop(answer)
        return Accepted()

    def _why_not(self, answer: Answer) -> str | None:
        prompt, waiting = self._open, self._waiting
        if answer.word in STOPPING and (waiting is None or not waiting.done()):
            return None if waiting or self._on_stop else "no run is going on"
        if prompt is None or waiting is None or waiting.done():
            if answer.prompt_id in self._closed_ids:
                return "this prompt was answered already"
            return "nothing is asked now"
        if answer.prompt_id is None:
            return (
                None
                if answer.given_at > prompt.opened_at
                else "it was given before the prompt was shown"
            )
        if answer.prompt_id != prompt.prompt_id:
            return "it belongs to another prompt"
        return None


async def _drain(queue: asyncio.Queue[News]) -> AsyncIterator[News]:
    while True:
        yield await queue.get()
