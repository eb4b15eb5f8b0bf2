"""`hostctl` as it is, but that it also says on a socket of its own what stands on the screen, and
takes less time over waiting: `python tapped.py FD begin NAME`.

A JSON line for each question once it may be answered, each countdown and motion as it begins, and
each prompt of a run once it is drawn. It goes on when a byte comes back.
"""

import asyncio
import json
import socket
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import asdict, replace
from functools import partial
from typing import Any

import hostctl.begin.bench.bench as bench
import hostctl.begin.screen.typed_line as typed_line
import hostctl.channels.terminal.keys as keys
import hostctl.channels.terminal.lines as lines
import hostctl.channels.terminal.terminal as full_screen
import hostctl.cli.session as session
import hostctl.link.link as link
from hostctl.begin.terminal import Terminal
from hostctl.channels.json_lines.json_words import object_for
from hostctl.cli.main import main
from hostctl.drafts.question import Question
from hostctl.link.patience import Patience
from hostctl.news import News, PromptOpened

SECOND_S = 0.005
REPLUG_S = 1.0
BRISK = Patience(quiet_s=0.02, settle_s=0.2, listen_s=0.3, hush_s=0.05, look_s=0.05)
Say = Callable[[dict[str, object]], None]


def tell_on(fd: int) -> Say:
    """What says a thing there, and waits until it was heard; nobody there: it goes on."""
    end = socket.socket(fileno=fd)

    def say(what: dict[str, object]) -> None:
        try:
            end.sendall(json.dumps(what).encode() + b"\n")
            end.recv(1)
        except OSError:
            pass

    return say


def wait_less() -> None:
    """Nothing else is changed."""
    typed_line.QUIET_S = typed_line.LONGEST_BEFORE_REPEAT_S = 0.0
    keys.LONGEST_BEFORE_REPEAT_S = keys.SLOWEST_REPEAT_S = 0.0
    keys.Keys.__init__.__kwdefaults__.update(quiet_s=0.0, repeat_s=0.0)  # type: ignore[union-attr]
    link.Patience = lambda: BRISK  # type: ignore[assignment, misc]
    bench.REPLUG_S = REPLUG_S
    session.carry_out = partial(session.carry_out, sleep=_sleep)  # type: ignore[assignment]


async def _sleep(seconds: float) -> None:
    await asyncio.sleep(seconds * SECOND_S if seconds <= 1.0 else seconds)


class Tapped(Terminal):
    """Says what it asks, counts down and moves."""

    tell: Say
    _asked: dict[str, object]

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **(named | {"second_s": SECOND_S}))

    async def ask(self, question: Question) -> Any:
        self._asked = {"event": "asked", "moves": "", **_as_data(question)}
        return await super().ask(question)

    async def ask_to_move(self, question: Question, moves: str) -> Any:
        shown = replace(question, suggested="")
        self._asked = {"event": "asked", **_as_data(shown), "moves": moves}
        return await super().ask_to_move(question, moves)

    def _forget_typed(self) -> None:
        super()._forget_typed()
        Tapped.tell(self._asked)

    async def countdown(self, what: str, seconds: int) -> None:
        Tapped.tell({"event": "counting", "what": what})
        await super().countdown(what, seconds)

    @asynccontextmanager
    async def moving(self, what: str, stop: Callable[[], None]) -> AsyncIterator[None]:
        async with super().moving(what, stop):
            Tapped.tell({"event": "moving", "what": what})
            yield
        Tapped.tell({"event": "stands", "what": what})


def _as_data(question: Question) -> dict[str, object]:
    data = asdict(replace(question, check=None, words=None))
    return data | {"words": dict(question.words or {})}


class _Prompts:
    """What of a run stands on the screen."""

    def __init__(self, say: Say) -> None:
        self._say = say
        self._due: PromptOpened | None = None

    def opened(self, news: News) -> None:
        if isinstance(news, PromptOpened):
            self._due = news

    def shown(self, prompt_id: str | None) -> None:
        if self._due is not None and self._due.prompt.prompt_id == prompt_id:
            due, self._due = self._due, None
            self._say(object_for(due))


def tap_runs(say: Say) -> None:
    """The full screen, and the plain lines."""
    prompts = _Prompts(say)
    take, write = full_screen.Terminal._take, full_screen.write_for_people
    taking: list[full_screen.Terminal] = []

    def taken(self: full_screen.Terminal, news: News, clock: Callable[[], float]) -> None:
        taking[:] = [self]
        take(self, news, clock)
        prompts.opened(news)

    async def written(screen: int, text: str) -> None:
        await write(screen, text)
        prompt = taking[0]._view.prompt if taking else None
        prompts.shown(prompt.prompt_id if prompt else None)

    line_for = lines.line_for

    def worded(news: News) -> str:
        prompts.opened(news)
        return line_for(news)

    print_line = lines.Lines._print

    async def printed(self: lines.Lines, text: str) -> None:
        await print_line(self, text)
        prompts.shown(self._prompt.prompt_id if self._prompt else None)

    full_screen.Terminal._take = taken  # type: ignore[method-assign]
    full_screen.write_for_people = written  # type: ignore[assignment]
    lines.line_for = worded
    lines.Lines._print = printed  # type: ignore[method-assign]


if __name__ == "__main__":
    Tapped.tell = staticmethod(tell_on(int(sys.argv[1])))  # type: ignore[assignment]
    wait_less()
    tap_runs(Tapped.tell)
    import hostctl.cli.first_hour.sitting as sitting

    sitting.Terminal = Tapped  # type: ignore[misc]
    sys.exit(main(sys.argv[2:]))
