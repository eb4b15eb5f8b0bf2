"""The course of a machine's run, as its news tell it: how far it is, what is asked or moves now.

The one fold of the news. The desk keeps it up as it tells them, so whoever shows a station asks the
desk. The terminal folds what it hears by itself: it may answer only what it has shown already.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from statistics import median

from hostctl.news import (
    CountdownTicked,
    DecisionKept,
    HoldBegan,
    HoldLifted,
    LiveReading,
    Moving,
    News,
    Prompt,
    PromptClosed,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
)
from hostctl.records import Place
from hostctl.run.record.in_hand import (
    InHand,
    block_of,
    in_hand_after,
    skipped_after,
    trials_done_after,
)
from hostctl.run.record.spots import Spot
from hostctl.run.record.standing import Standing
from hostctl.run.record.trace import Trace
from hostctl.store.rows import LEVELLED

RECENT_PACES = 15
LEAST_PACES = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """All that the news so far have told, and nothing that they have taken back."""

    started: RunStarted | None = None  # stays when the run is over, beside `finished`
    finished: RunFinished | None = None
    place: Place | None = None  # where in the study it was last
    prompt: Prompt | None = None
    countdown: CountdownTicked | None = None
    moving: str = ""
    held: HoldBegan | None = None
    last_block: InHand = field(default_factory=InHand)  # of which a reading was kept last
    trace: Trace = field(default_factory=Trace)  # of all readings, where nobody is asked between
    levelled: DecisionKept | None = None  # the last round of a levelling
    live: LiveReading | None = None  # what is shown while a screw is turned
    trials_done: int = 0
    skipped: frozenset[Spot] = frozenset()  # of those
    paces_s: tuple[float, ...] = ()  # what the last trials took
    kept_at_s: float | None = None

    @property
    def going_on(self) -> RunStarted | None:
        """The run that is under way, if one is."""
        return None if self.finished else self.started

    @property
    def standing(self) -> Standing:
        """As far as the news tell: they know nothing of the line."""
        if self.held is not None:
            halted = self.held.stopped and not self.held.not_told
            return Standing.HALTED if halted else Standing.HOLDING
        if self.prompt is not None:
            return Standing.ASKING
        return Standing.RESTING if self.going_on is None else Standing.MOVING

    @property
    def in_hand(self) -> InHand:
        """The block that it is at; empty until a reading of it is kept."""
        begun = self.place is not None and block_of(self.place) == self.last_block.block
        return self.last_block if begun else InHand()

    @property
    def seconds_left(self) -> float | None:
        """How long the rest will probably take; None until three trials are done."""
        if self.started is None or len(self.paces_s) < LEAST_PACES:
            return None
        return median(self.paces_s) * (self.started.trials_total - self.trials_done)


def course_after(course: Course, news: News, clock: Callable[[], float]) -> Course:
    """The course once `news` have come. `clock`: elapsed seconds, asked at a reading."""
    then = replace(
        _after(course, news),
        trials_done=trials_done_after(course.trials_done, news),
        skipped=skipped_after(course.skipped, news),
        last_block=in_hand_after(course.last_block, news),
    )
    return _paced(then, clock()) if isinstance(news, ReadingKept) else then


def _after(course: Course, news: News) -> Course:
    match news:
        case RunStarted():
            return Course(started=news, last_block=course.last_block)
        case PromptOpened(prompt=prompt):
            place = prompt.place or course.place
            return replace(course, prompt=prompt, place=place, countdown=None, moving="")
        case PromptClosed():
            return replace(course, prompt=None, live=None)
        case CountdownTicked():
            return replace(course, countdown=news, moving="")
        case Moving(what=what) | DecisionKept(what=what):
            levelled = _levelled(course, news)
            return replace(course, countdown=None, moving=what, levelled=levelled)
        case LiveReading():
            return replace(course, live=news)
        case ReadingKept(place=place):
            return replace(course, place=place, trace=_traced(course, news))
        case HoldBegan() | HoldLifted():
            held = news if isinstance(news, HoldBegan) else None
            return replace(course, held=held, countdown=None, moving="")
        case RunFinished():
            over = replace(course, finished=news, held=None)
            return replace(over, countdown=None, moving="", prompt=None)
        case _:
            return course


def _levelled(course: Course, news: Moving | DecisionKept) -> DecisionKept | None:
    if isinstance(news, DecisionKept) and news.kind == LEVELLED and "heights" in news.data:
        return news
    return course.levelled


def _traced(course: Course, kept: ReadingKept) -> Trace:
    if course.started is None or not course.started.asks_nobody:
        return course.trace
    return course.trace.after(kept.place.point, kept.reading.value_mm)


def _paced(course: Course, at_s: float) -> Course:
    paces = course.paces_s
    if course.kept_at_s is not None:
        paces = (*paces, at_s - course.kept_at_s)[-RECENT_PACES:]
    return replace(course, paces_s=paces, kept_at_s=at_s)
