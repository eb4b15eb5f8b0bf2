"""The talk at a real terminal, line by line: a screen reader follows it, and what was said stays.

Nothing is taken for an answer but a line that was typed by hand after the question was on the
screen (DEVELOPERS.md, rules 3 and 5). While something moves key x alone counts, and it always does.
"""

import asyncio
import os
import termios
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from contextlib import asynccontextmanager, contextmanager, suppress
from dataclasses import replace
from itertools import count
from select import select
from typing import Self

from hostctl.begin.screen.halt_key import halting
from hostctl.begin.screen.page import (
    ALWAYS,
    BARE,
    Paper,
    before_motion,
    meanings,
    prompt,
    same_again,
    sentence,
    whole_page,
)
from hostctl.begin.screen.typed_line import TypedLine
from hostctl.begin.talk import BackAsked, LeaveAsked, NotNow
from hostctl.channels.descriptors import read_some, write_for_people
from hostctl.channels.terminal.as_found import hang_up_outlived, single_keys, switched
from hostctl.channels.terminal.draw import STOP_NOTE, Look
from hostctl.channels.terminal.pasted import ASK, ASK_NO_MORE
from hostctl.drafts.question import Question, Unclear, Value, understood
from hostctl.errors import UsageError
from hostctl.report.document.plain_ascii import asked_for

TOLD_TO_HALT = "Told the machine to halt. The emergency stop is its mains switch."
TOLD_EACH = 10
"""So many seconds after another it is said that something still moves."""
STANDS_STILL = "Nothing moves while it asks, so there was nothing to halt."


def look_of(environment: Mapping[str, str]) -> Look:
    """Bold and colour where the terminal has them and nobody asked for none."""
    look = BARE if environment.get("NO_COLOR") or _is_dumb(environment) else Look()
    return replace(look, ascii_alone=asked_for(environment))


def _is_dumb(environment: Mapping[str, str]) -> bool:
    """Whether it is to be sent no orders at all."""
    return environment.get("TERM") in (None, "", "dumb")


class Terminal:
    """One person at one terminal: the `Talk` of `hostctl begin`."""

    def __init__(
        self,
        keyboard: int,
        screen: int,
        *,
        clock: Callable[[], float] | None = None,
        second_s: float = 1.0,
        greets: bool = True,
    ) -> None:
        self._keyboard = keyboard
        self._screen = screen
        self._clock = clock
        self._second_s = second_s
        self._look = look_of(os.environ)
        self._line = TypedLine()
        self._moved_after = ""  # the key of the question, where the same may be asked in short
        self._mid_line = False
        self._words_seen: set[str] = set()
        self._greeted = not greets

    @classmethod
    @contextmanager
    def opened(
        cls,
        keyboard: int,
        screen: int,
        *,
        clock: Callable[[], float] | None = None,
        second_s: float = 1.0,
        greets: bool = True,
    ) -> Iterator[Self]:
        """Take the terminal, and leave it as it was found. Raises UsageError where there is none.

        clock: seconds, the event loop's if left out. second_s: how long one of a countdown takes.
        greets: whether the first thing said is how to stop, and what may always be typed.
        """
        if not (os.isatty(keyboard) and os.isatty(screen)):
            raise UsageError(
                "hostctl begin",
                "it is for the terminal beside the machine, and its input or output is none",
                "Start it there by itself, without a pipe and without < or >.",
            )
        marked = ("", "") if _is_dumb(os.environ) else (ASK, ASK_NO_MORE)
        talk = cls(keyboard, screen, clock=clock, second_s=second_s, greets=greets)
        with hang_up_outlived(), single_keys(keyboard), switched(screen, *marked):
            try:
                yield talk
            finally:
                talk._end_line()

    async def say(self, text: str) -> None:
        """A paragraph; lines that are parted stay so."""
        await self._show(["", *self._paper.as_is(text)])

    async def title(self, text: str) -> None:
        """What comes now, set off by an empty line more."""
        self._moved_after = ""
        await self._show(["", "", *self._paper.wrapped(text, self._look.act)])

    async def ask(self, question: Question) -> Value:
        """As `Talk.ask`."""
        self._moved_after = ""
        await self._show(whole_page(question, self._paper, self._new_words(question)))
        return await self._answer(question, lambda: ([], prompt(question)))

    async def ask_to_move(self, question: Question, moves: str) -> Value:
        """As `Talk.ask_to_move`; in short where the same was asked just before."""
        question = replace(question, suggested="")
        again, self._moved_after = self._moved_after == question.key, ""

        def closing() -> tuple[list[str], str]:
            above = before_motion(moves, self._paper, again=again)
            return above, prompt(question, again=again)

        if again:
            await self._show(same_again(question, self._paper))
        else:
            await self._show(whole_page(question, self._paper, self._new_words(question)))
        value = await self._answer(question, closing)
        self._moved_after = question.key
        return value

    def _new_words(self, question: Question) -> list[str]:
        """Those that no question had before; where they are told is known by then."""
        words = [word for word in question.words or () if word not in self._words_seen]
        self._words_seen.update(words)
        return words

    async def countdown(self, what: str, seconds: int) -> None:
        """As `Talk.countdown`. What was typed since the last answer calls it off too."""
        await self._show(["", *self._paper.wrapped(f"{sentence(what)} Any key calls it off.")])
        for left in range(seconds, 0, -1):
            await self._write(f"Moves in {left}" if left == seconds else f" … {left}")
            if await self._key_within(self._second_s):
                await self._write("\nCalled off: nothing moved.\n")
                raise NotNow
        await self._write("\n")

    @asynccontextmanager
    async def moving(self, what: str, stop: Callable[[], None]) -> AsyncIterator[None]:
        """As `Talk.moving`. A terminal that goes away calls `stop` too: nobody looks any more."""
        text = f"Hands clear. {sentence(what)} Key x: halt. Emergency stop: the mains switch."

        async def say_so() -> None:
            await self._show(self._paper.wrapped(TOLD_TO_HALT, self._look.held))

        async with halting(self._keyboard, stop, say_so):
            await self._show(["", *self._paper.wrapped(text, self._look.clear)])
            telling = asyncio.create_task(self._tell_how_long(), name="how long it moves")
            try:
                yield
            finally:
                telling.cancel()

    async def _tell_how_long(self) -> None:
        """Now and then, so that nobody takes a long homing for the end of it."""
        for seconds in count(TOLD_EACH, TOLD_EACH):
            await asyncio.sleep(TOLD_EACH * self._second_s)
            await self._show([f"Still moving: {seconds} s."])

    async def _answer(
        self, question: Question, closing: Callable[[], tuple[list[str], str]]
    ) -> Value:
        """Ask until a line is an answer. closing: what stands above it, and before it."""
        self._refuse_taken_words(question)
        while True:
            above, before = closing()
            await self._show(above)
            await self._write(before)
            said = await self._typed(question.suggested)
            match said and said.lower():
                case None:  # it does not count, and why was said
                    continue
                case "back":
                    raise BackAsked
                case "leave":
                    raise LeaveAsked
                case "?":
                    page = [*meanings(question, self._paper), *whole_page(question, self._paper)]
                    await self._show(page)
                    continue
            try:
                return understood(question, said or "")
            except Unclear as unclear:
                still = f"{STANDS_STILL} " if said in ("x", "X") else ""
                await self._show(self._paper.wrapped(f"{still}{unclear}"))

    def _refuse_taken_words(self, question: Question) -> None:
        for word in (question.suggested, *(way.word for way in question.ways)):
            if word in ALWAYS:
                raise ValueError(f"{question.key}: '{word}' may always be answered")

    async def _typed(self, suggested: str) -> str | None:
        """A line; None: what was typed does not count, and why was said."""
        self._forget_typed()
        while True:
            data = await read_some(self._keyboard)
            heard = self._line.hear(data, self._now_s())
            await self._write(self._echo(heard.echo))
            if not data or heard.ended:
                await self._write("\n")
                raise LeaveAsked
            if heard.note:
                await self._show(["", *self._paper.wrapped(heard.note)])
                return None
            if heard.line is not None:
                said = heard.line.strip()
                await self._write(f"{'' if said else self._echo(suggested)}\n")
                return said

    def _echo(self, text: str) -> str:
        """A column a sign, so that it can be rubbed out."""
        return text.encode("ascii", "replace").decode() if self._look.ascii_alone else text

    def _forget_typed(self) -> None:
        try:
            termios.tcflush(self._keyboard, termios.TCIFLUSH)
        except termios.error:
            raise LeaveAsked from None
        self._line.asked(self._now_s())

    async def _key_within(self, seconds: float) -> bool:
        """Whether any key came, or the terminal went away."""
        try:
            async with asyncio.timeout(seconds):
                await read_some(self._keyboard)
        except TimeoutError:  # unless a key came just then
            return bool(select([self._keyboard], [], [], 0)[0])
        return True

    async def _show(self, lines: list[str]) -> None:
        """Whole lines, below what was said before."""
        if not self._greeted:
            self._greeted = True
            lines = [*self._greeting(), *lines]
        await self._write("".join(f"{line}\n" for line in lines))

    def _greeting(self) -> list[str]:
        paper = self._paper
        words = paper.listed(ALWAYS)
        return [
            *paper.wrapped(STOP_NOTE, self._look.strong),
            *paper.wrapped("At any question:"),
            *words,
        ]

    async def _write(self, text: str) -> None:
        if not text:
            return
        self._mid_line = not text.endswith("\n")
        try:
            await write_for_people(self._screen, text)
        except OSError:
            raise LeaveAsked from None

    def _end_line(self) -> None:
        """So that what is said next does not stand behind a prompt."""
        if self._mid_line:
            with suppress(OSError):  # it may have been closed
                os.write(self._screen, b"\n")

    @property
    def _paper(self) -> Paper:
        columns = 0
        with suppress(OSError):  # it may have been closed
            columns = os.get_terminal_size(self._screen).columns
        return Paper(self._look, columns)

    def _now_s(self) -> float:
        return self._clock() if self._clock else asyncio.get_running_loop().time()
