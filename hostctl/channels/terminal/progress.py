"""A run watched, not answered: one line a block, its readings added as they come."""

from contextlib import suppress

from hostctl.channels.descriptors import write_for_people
from hostctl.channels.news_lines import line_for
from hostctl.news import (
    HoldBegan,
    Moving,
    News,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import Place
from hostctl.report.document.significant import in_mm
from hostctl.run.channel import Channel
from hostctl.run.desk import Desk

READINGS_A_LINE = 8
MOST_ONE_BY_ONE = 400
"""Of more, where nobody is asked between them, a line tells how far this many reached."""
A_LINE_OF = 100
INDENT = " " * 42


def progress(settings: dict[str, object]) -> Channel:
    """The channel plug-in. Settings: `screen`, a file descriptor; without it standard output.

    `seconds_a_trial`: that it goes at people's pace, so that all that moves before the first
    reading is told too, and about how long it takes.
    """
    screen, pace_s = settings.get("screen", 1), settings.get("seconds_a_trial")
    return Progress(
        screen if isinstance(screen, int) else 1, pace_s if isinstance(pace_s, float) else None
    )


class Progress:
    """For runs that simulated people answer. Only ever adds to the output, so a pipe will do."""

    name = "progress"

    def __init__(self, screen: int, seconds_a_trial: float | None = None) -> None:
        self._screen = screen
        self._pace_s = seconds_a_trial
        self._said: set[str] = set()
        self._done = ""
        self._block: tuple[int, int] | None = None
        self._shown = 0
        self._many: list[float] | None = None  # None: they are told one by one

    async def serve(self, desk: Desk) -> None:
        """Write until the run is over, or nobody reads any more."""
        with suppress(BrokenPipeError):
            try:
                await self._follow(desk)
            finally:  # what is said of an interrupt begins a line of its own
                if end := self._line_end():
                    await write_for_people(self._screen, end)

    async def _follow(self, desk: Desk) -> None:
        async with desk.listening() as all_news:
            async for news in all_news:
                if text := self._text(news):
                    await write_for_people(self._screen, text)
                if isinstance(news, RunFinished):
                    return

    def _text(self, news: News) -> str:
        if isinstance(news, RunStarted):
            many = news.asks_nobody and news.trials_total > MOST_ONE_BY_ONE
            self._many = [] if many else None
        if self._pace_s is not None and (text := self._at_pace(news, self._pace_s)):
            return text
        match news:
            case ReadingKept() if self._many is not None:
                return self._of_many(news, self._many)
            case ReadingKept(place=place):
                text = self._line_start(place) + self._reading(news)
                self._done = f"   {place.trials_done + (not news.is_zero)} of {place.trials_total}"
                return text
            case RunStarted() | HoldBegan() | RunFinished():
                return f"{self._line_end()}{line_for(news)}\n"
            case _:
                return ""

    def _at_pace(self, news: News, pace_s: float) -> str:
        """What is told besides: all moves before the first reading, and how long the rest takes."""
        match news:
            case RunStarted(trials_total=total, trials_done=done):
                minutes = max(1, round(pace_s * (total - done) / 60))
                takes = f"Simulated people answer at people's pace: about {minutes} min."
                return f"{line_for(news)}\n{takes}\n"
            case Moving(what=what) if self._done == "" and what not in self._said:
                self._said.add(what)
                return f"{line_for(news)}\n"
            case TrialMarked(whole_block=True):
                return f"{self._line_end()}{line_for(news)}\n"
            case _:
                return ""

    def _of_many(self, news: ReadingKept, many: list[float]) -> str:
        """A line once there are enough of them."""
        many.append(news.reading.value_mm)
        if len(many) < A_LINE_OF:
            return ""
        low, high = (in_mm(end, news.reading.resolution_mm) for end in (min(many), max(many)))
        many.clear()
        done, total = news.place.trials_done + 1, news.place.trials_total
        return f"  {done} of {total}: the last {A_LINE_OF} from {low} to {high} mm\n"

    def _line_start(self, place: Place) -> str:
        if self._block == (place.block, place.round):
            return ""
        end = self._line_end()
        self._block, self._shown = (place.block, place.round), 0
        named = f"{place.method:<14} {place.operator:<12} " if place.method else ""
        return f"{end}  {named}{place.point:<12}"

    def _line_end(self) -> str:
        done = self._done if self._pace_s is not None else ""
        end = f"{done}\n" if self._block else ""
        self._block = None
        return end

    def _reading(self, news: ReadingKept) -> str:
        if news.is_zero:
            return ""
        value = news.reading.value_mm if news.relative_mm is None else news.relative_mm
        new_line = f"\n{INDENT}" if self._shown and self._shown % READINGS_A_LINE == 0 else ""
        self._shown += 1
        return f"{new_line} {in_mm(value, news.reading.resolution_mm):>5}"
