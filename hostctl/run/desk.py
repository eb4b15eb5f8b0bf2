"""The desk between the run and the channels: one open prompt at most, the first valid answer wins.

The run asks; every channel is told; whatever comes back is checked here and nowhere else. An
answer counts only for the prompt now open: by its id, or, where the channel can't carry one, by
having been given after the prompt was opened, by a clock that nobody can set. And it must be an
answer to what was asked: no reading where a deed is confirmed, no `done` where a reading is due.
`hold` and `end` count at any time, because stopping works from anywhere.

What counts is put on the disk before the prompt closes and before anybody is told that it was
taken; `hold` and `end` wait for no disk.
"""

import asyncio
from collections import deque
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass

from hostctl.errors import HostctlError
from hostctl.news import (
    Answer,
    AnswerRefused,
    HoldBegan,
    News,
    Prompt,
    PromptClosed,
    PromptOpened,
    RunStarted,
    Word,
)
from hostctl.observers import Observers
from hostctl.run.fitting import why_not_fitting
from hostctl.run.record.course import Course, course_after

STOPPING = frozenset({Word.HOLD, Word.END})
NEWS_KEPT_FOR_A_SLOW_CHANNEL = 1000
BROKE_OFF = "the run broke off meanwhile; whether it was kept is told on resuming"

Keep = Callable[[Prompt, Answer], Awaitable[None]]
"""Puts an answer on the disk. Raises StoreError when it can't."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """An answer that did not count, and why."""

    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """An answer that counted."""


@dataclass(slots=True)
class _Asked:
    """A prompt that is open."""

    prompt: Prompt
    opened_s: float  # the event loop's time
    answered: asyncio.Future[Answer]
    kept: asyncio.Future[str]  # why the answer was not kept; empty: it is on the disk


class Desk:
    """Where prompts are laid out and answers handed in.

    One desk a machine. All methods are called on the event loop's own thread.
    """

    def __init__(self) -> None:
        self._asked: _Asked | None = None
        self._closed_ids: deque[str] = deque(maxlen=1000)
        self._listeners: set[asyncio.Queue[News]] = set()
        self.on_refusal: Observers[AnswerRefused] = Observers()
        """Told of each refused answer, as the channels are."""
        self.on_stop: Observers[Answer] = Observers()
        """Told of `hold` or `end` while no prompt is open (the machine may be moving). Where nobody
        is to be told, no run is going on."""
        self.course = Course()
        """What all news so far come to."""

    @property
    def open_prompt(self) -> Prompt | None:
        """The prompt now open, if any."""
        return self._asked.prompt if self._asked else None

    @property
    def open_for_s(self) -> float:
        """How long the prompt now open has been so; 0 where none is."""
        return asyncio.get_running_loop().time() - self._asked.opened_s if self._asked else 0.0

    @property
    def started(self) -> RunStarted | None:
        """The run that is under way, if one is."""
        return self.course.going_on

    @property
    def last_run(self) -> int | None:
        """The number of the run that was started last, over or not."""
        return self.course.started.run if self.course.started else None

    @property
    def held(self) -> HoldBegan | None:
        """Why it stands still, if it does."""
        return self.course.held

    # ------------------------------------------------------------ the run's side

    def tell(self, news: News) -> None:
        """Tell every channel. Never waits: a channel that is too slow loses the oldest news."""
        self.course = course_after(self.course, news, _loop_s)
        for queue in self._listeners:
            if queue.full():
                queue.get_nowait()
            queue.put_nowait(news)

    async def ask(self, prompt: Prompt, keep: Keep | None = None) -> Answer:
        """Open the prompt and wait, however long, for the first answer that counts.

        keep: what puts it on the disk; the prompt closes after that.
        Raises RuntimeError when a prompt is open already: the run asks one thing at a time;
        whatever `withdraw` was given; and StoreError when the answer could not be kept.
        """
        if self._asked is not None:
            raise RuntimeError(f"prompt {self._asked.prompt.prompt_id} is still open")
        loop = asyncio.get_running_loop()
        self._asked = _Asked(prompt, loop.time(), loop.create_future(), loop.create_future())
        because = "called off"
        self.tell(PromptOpened(prompt=prompt))
        try:
            answer = await self._asked.answered
            if keep is not None and answer.word not in STOPPING:
                await self._keep(keep, prompt, answer)
            self._asked.kept.set_result("")
            because = f"answered on {answer.channel}"
            return answer
        except HostctlError as fault:
            because = f"withdrawn: {fault.what}"
            raise
        finally:
            if not self._asked.kept.done():
                self._asked.kept.set_result(BROKE_OFF)
            self._closed_ids.append(prompt.prompt_id)
            self._asked = None
            self.tell(PromptClosed(prompt_id=prompt.prompt_id, because=because))

    async def _keep(self, keep: Keep, prompt: Prompt, answer: Answer) -> None:
        assert self._asked is not None
        try:
            await keep(prompt, answer)
        except HostctlError as why:
            self._asked.kept.set_result(why.what)
            self.refuse(prompt.prompt_id, answer.channel, why.what)
            raise

    def withdraw(self, why: HostctlError) -> None:
        """Close the open prompt: whoever asked gets `why` raised. Nothing when none is open."""
        if self._asked is not None and self._waits():
            self._asked.answered.set_exception(why)

    # ------------------------------------------------------------ the channels' side

    @asynccontextmanager
    async def listening(self) -> AsyncIterator[AsyncIterator[News]]:
        """`async with desk.listening() as news: async for item in news: …`

        Starts with where things stand: the run, the hold and the prompt now open.
        """
        queue: asyncio.Queue[News] = asyncio.Queue(NEWS_KEPT_FOR_A_SLOW_CHANNEL)
        opened = PromptOpened(prompt=self._asked.prompt) if self._asked else None
        for item in (self.started, self.held, opened):
            if item is not None:
                queue.put_nowait(item)
        self._listeners.add(queue)
        try:
            yield _drain(queue)
        finally:
            self._listeners.discard(queue)

    def answer(self, answer: Answer) -> Accepted | Refused:
        """Hand in an answer. What is refused moves nothing, and every channel is told why.

        Accepted is not yet kept: nobody may be told so before the prompt has closed.
        """
        why = self.take(answer)
        if why is not None:
            self.refuse(answer.prompt_id, answer.channel, why)
            return Refused(reason=why)
        return Accepted()

    async def acknowledged(self, answer: Answer) -> Accepted | Refused:
        """As `answer`, but comes back once an accepted answer is on the disk.

        For whoever tells somebody that it was taken. Refused too when it could not be kept; `hold`
        and `end` are acknowledged at once.
        """
        asked = self._asked if self._waits() else None
        result = self.answer(answer)
        if asked is None or isinstance(result, Refused):
            return result
        why = await asyncio.shield(asked.kept)
        return Refused(reason=why) if why else result

    def take(self, answer: Answer) -> str | None:
        """As `answer`, but nobody is told why it is refused: that is given, None when it counts.

        For channels that anybody can flood: they tell of only some refusals.
        """
        why = self._why_not(answer)
        if why is None:
            if self._asked is not None and self._waits():
                self._asked.answered.set_result(answer)
            else:
                self.on_stop.tell(answer)
        return why

    def refuse(self, prompt_id: str | None, channel: str, why: str) -> None:
        """Tell every channel that something did not count, and note it."""
        refused = AnswerRefused(prompt_id=prompt_id, channel=channel, reason=why)
        self.tell(refused)
        self.on_refusal.tell(refused)

    # ------------------------------------------------------------ what counts

    def _why_not(self, answer: Answer) -> str | None:
        if answer.word in STOPPING:
            return None if self._waits() or self.on_stop else "no run is going on"
        if self._asked is None or not self._waits():
            return self._why_not_asked(answer.prompt_id)
        return _not_for(self._asked, answer) or why_not_fitting(self._asked.prompt, answer)

    def _why_not_asked(self, prompt_id: str | None) -> str:
        if self._asked is not None and prompt_id == self._asked.prompt.prompt_id:
            is_withdrawn = self._asked.answered.exception() is not None
            return "it was withdrawn" if is_withdrawn else "an answer to it is being kept"
        if prompt_id is not None and prompt_id in self._closed_ids:
            return "this prompt was answered already"
        return "nothing is asked now"

    def _waits(self) -> bool:
        """Whether a prompt is open and nobody has answered it yet."""
        return self._asked is not None and not self._asked.answered.done()


def _not_for(asked: _Asked, answer: Answer) -> str | None:
    """Why the answer is not meant for the open prompt."""
    if answer.prompt_id is None:
        if answer.given_s is not None and answer.given_s > asked.opened_s:
            return None
        return "it was given before the prompt was shown"
    return None if answer.prompt_id == asked.prompt.prompt_id else "it belongs to another prompt"


def _loop_s() -> float:
    return asyncio.get_running_loop().time()


async def _drain(queue: asyncio.Queue[News]) -> AsyncIterator[News]:
    while True:
        yield await queue.get()
