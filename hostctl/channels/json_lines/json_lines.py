"""The JSON-lines channel: one object a line on standard output, one a line on standard input."""

import asyncio
import json
import sys
from collections.abc import Callable
from datetime import UTC, datetime

from hostctl.channels.descriptors import STOPPED_HINT, TooLong, lines_from, write_all
from hostctl.channels.json_lines.incoming import Malformed, answer_from
from hostctl.channels.json_lines.json_words import object_for
from hostctl.channels.view.data import Json
from hostctl.errors import RunStopped
from hostctl.news import RunFinished, Word
from hostctl.run.channel import Channel
from hostctl.run.desk import Accepted, Desk

CHANNEL = "json-lines"


def json_lines(settings: dict[str, object]) -> Channel:
    """The channel plug-in. Settings: `alone`, false where somebody else answers too, so that the
    end of the input is no reason to stop."""
    alone = settings.get("alone", True) is not False
    return JsonLines(sys.stdin.fileno(), sys.stdout.fileno(), alone=alone)


class JsonLines:
    """For scripts and other programs."""

    name = CHANNEL

    def __init__(
        self,
        commands: int,
        events: int,
        *,
        alone: bool = True,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._commands = commands
        self._events = events
        self._alone = alone
        self._now = now
        self._ending = False
        self._write_lock = asyncio.Lock()

    async def serve(self, desk: Desk) -> None:
        """Tell and listen until the run is over.

        Raises RunStopped when the input ends or nobody reads the output any more: nothing moves
        on behalf of a program that has gone.
        """
        async with asyncio.TaskGroup() as tasks:
            listening = tasks.create_task(self._take_lines(desk), name="json-lines input")
            async with desk.listening() as all_news:
                async for news in all_news:
                    await self._say(object_for(news))
                    if isinstance(news, RunFinished):
                        break
            listening.cancel()

    async def _take_lines(self, desk: Desk) -> None:
        async for line in lines_from(self._commands):
            if isinstance(line, TooLong):
                await self._refuse(Malformed("the line is too long"))
            elif line.strip():
                await self._take(line, desk)
        if self._alone and not self._ending:
            raise RunStopped("standard input", "it ended", STOPPED_HINT)

    async def _take(self, line: bytes, desk: Desk) -> None:
        said = answer_from(line, channel=self.name, now=self._now())
        if isinstance(said, Malformed):
            await self._refuse(said)
        else:
            taken = desk.answer(said)  # a refusal comes back as news
            self._ending = said.word is Word.END and isinstance(taken, Accepted)

    async def _refuse(self, malformed: Malformed) -> None:
        refused: Json = {"event": "refused", "prompt_id": malformed.prompt_id}
        await self._say({**refused, "reason": malformed.reason, "channel": self.name})

    async def _say(self, said: Json) -> None:
        try:
            async with self._write_lock:
                await write_all(self._events, json.dumps(said, ensure_ascii=False) + "\n")
        except BrokenPipeError as cause:
            raise RunStopped("standard output", "nobody reads it", STOPPED_HINT) from cause
