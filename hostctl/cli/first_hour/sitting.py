"""One sitting at one terminal: parts in which questions are asked, between runs of their own."""

import asyncio
import signal
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TypeVar

from hostctl.begin.talk import BackAsked, Talk
from hostctl.begin.terminal import Terminal
from hostctl.drafts.question import Question, Value

T = TypeVar("T")


class Sitting:
    """Where its files and records go, and whom it talks with."""

    def __init__(self, *, folder: Path, database: Path) -> None:
        """folder: where files are written. database: where runs are recorded."""
        self.folder = folder
        self.database = database
        self._greets = True

    def talked(self, part: Callable[[Talk], Awaitable[T]]) -> T:
        """Part of the sitting in which questions are asked; a run has the terminal for itself."""
        greets, self._greets = self._greets, False
        with Terminal.opened(sys.stdin.fileno(), sys.stdout.fileno(), greets=greets) as talk:
            return asyncio.run(_ended_in_order(part(talk)))


async def asked_alone(talk: Talk, question: Question) -> Value:
    """Ask what has nothing before it to go back to. Raises LeaveAsked."""
    while True:
        try:
            return await talk.ask(question)
        except BackAsked:
            await talk.say("There is nothing before this to go back to.")


async def _ended_in_order(part: Awaitable[T]) -> T:
    """SIGTERM and SIGHUP end it as an interrupt does: the machine is left safe."""
    loop, task = asyncio.get_running_loop(), asyncio.current_task()
    assert task is not None
    for number in (signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, task.cancel)
    try:
        return await part
    except asyncio.CancelledError:
        raise KeyboardInterrupt("Interrupted. Go on with: hostctl begin") from None
    finally:
        for number in (signal.SIGTERM, signal.SIGHUP):
            loop.remove_signal_handler(number)
