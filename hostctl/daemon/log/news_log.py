"""News into the log: what an administrator looks for later, and not every move."""

import asyncio
from collections.abc import Callable

from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.news import (
    AnswerRefused,
    HoldBegan,
    HoldLifted,
    News,
    PromptClosed,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.run.desk import Desk

REFUSALS_A_MINUTE = 10


class NewsLog:
    """Logs one machine's news. Refusals are rationed: they may come by the hundred."""

    def __init__(self, log: EventLog, machine: str) -> None:
        self._log = log
        self._machine = machine
        self._minute = 0
        self._refusals = 0

    async def follow(self, desk: Desk, after_each: Callable[[], None]) -> None:
        """Log what the desk tells, until cancelled; `after_each` is called then."""
        async with desk.listening() as all_news:
            async for news in all_news:
                self.note(news)
                after_each()

    def note(self, news: News) -> None:
        """Log it, if it is worth a line."""
        match news:
            case RunStarted(run=run, study=study, resumed=resumed):
                self._say("run-resumed" if resumed else "run-started", run=run, study=study)
            case PromptOpened(prompt=prompt):
                self._say("prompt", prompt=prompt.prompt_id, kind=prompt.kind.value)
            case PromptClosed(prompt_id=prompt_id, because=because):
                self._say("prompt-closed", prompt=prompt_id, because=because)
            case ReadingKept(reading_id=reading_id, place=place, channel=channel):
                self._say("reading", reading=reading_id, trial=place.trial, channel=channel)
            case TrialMarked():
                self._marked(news)
            case HoldBegan():
                self._held(news)
            case HoldLifted(channel=channel):
                self._say("hold-lifted", channel=channel)
            case RunFinished(run=run, complete=complete, reason=reason):
                self._say("run-over", run=run, complete=complete, reason=reason)
            case AnswerRefused():
                self._refused(news)
            case _:
                pass

    def _marked(self, marked: TrialMarked) -> None:
        if marked.whole_block:
            self._say("block-begun-again", block=marked.place.block, reason=marked.reason)
        else:
            trial = marked.place.trial
            self._say("trial-marked", trial=trial, mark=marked.mark, reason=marked.reason)

    def _held(self, held: HoldBegan) -> None:
        if held.not_told:
            self._say("machine-not-told", level=Level.FAULT, reason=held.reason)
        else:
            event = "machine-stopped" if held.stopped else "hold"
            self._say(event, level=Level.WARNING, reason=held.reason)

    def _refused(self, refused: AnswerRefused) -> None:
        minute = int(asyncio.get_running_loop().time() // 60)
        if minute != self._minute:
            if self._refusals > REFUSALS_A_MINUTE:
                self._say("refused", more=self._refusals - REFUSALS_A_MINUTE)
            self._minute, self._refusals = minute, 0
        self._refusals += 1
        if self._refusals <= REFUSALS_A_MINUTE:
            self._say("refused", channel=refused.channel, reason=refused.reason)

    def _say(self, event: str, level: Level = Level.INFO, **pairs: object) -> None:
        self._log.say(event, level, machine=self._machine, **pairs)
